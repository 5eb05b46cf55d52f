"""What one more cake asks for of deliveries: minimums, fees, packs and keeping."""

from decimal import Decimal

from planning.engine.scenarios.promise import PromiseAnswer
from tests.engine import shelves
from tests.engine.promised import butter_kitchen, dairy, packs, promise_for
from tests.engine.small_kitchen import day


def test_a_next_day_delivery_is_a_day_too_late():
    small = butter_kitchen(butter=800)
    sold = packs(small, butter=(1_000, "9.99"))
    terms = [dairy(usable_next_day=True)]

    # Both planned tortes have theirs. A third on Friday: Tuesday's truck, as Friday's
    # serves Saturday only, and then T-2 would lack it no more.
    promise = promise_for(small, day(4), sold=sold, suppliers=terms)

    [order] = promise.orders
    assert order.delivery.deliver_on == day(4)
    assert promise.shorts[0].first_on == day(5)


def test_a_minimum_order_that_it_stays_under_is_told():
    small = butter_kitchen()
    sold = packs(small, butter=(1_000, "9.99"))
    terms = [dairy(minimum_order=25, delivery_fee=4)]

    promise = promise_for(small, day(4), sold=sold, suppliers=terms)

    [order] = promise.orders
    # 9.99 for the pack, 15.01 of anything to make it 25, and 4 for the delivery
    assert order.under_minimum == Decimal("15.01")
    assert order.filling_cost == Decimal("15.01")
    assert (order.more_fee, order.more_cost) == (Decimal(4), Decimal(29))


def test_what_fills_a_delivery_up_may_make_it_free():
    small = butter_kitchen()
    sold = packs(small, butter=(1_000, "9.99"))
    terms = [dairy(minimum_order=25, delivery_fee=4, free_delivery_from=Decimal(25))]

    promise = promise_for(small, day(4), sold=sold, suppliers=terms)

    [order] = promise.orders
    assert (order.more_fee, order.more_cost) == (Decimal(0), Decimal(25))


def test_what_comes_after_the_planned_orders_is_not_filled_up_by_the_cake():
    small = butter_kitchen()
    sold = packs(small, butter=(1_000, "9.99"))
    terms = [dairy(minimum_order=25, delivery_fee=4)]

    promise = promise_for(small, day(4), sold=sold, suppliers=terms, planned_to=day(3))

    # Nobody has planned yet what else comes on Friday.
    [order] = promise.orders
    assert (order.is_beyond, order.under_minimum) == (True, Decimal("15.01"))
    assert order.more_cost == Decimal("13.99")


def test_packs_come_as_they_are_sold():
    small = butter_kitchen()
    sold = packs(small, butter=(100, "1"), minimum_packs=3, multiple=2)

    promise = promise_for(small, day(4), sold=sold)

    # 200 g are two packs; at least three, two at a time: four.
    assert promise.orders[0].lines[0].more_packs == 4


def test_of_the_packs_on_one_delivery_the_one_that_costs_least_is_enough():
    small = butter_kitchen()
    butter = small.index("butter")
    sold = [
        shelves.pack(butter, 1_000, "9.99", pack_id=1, preferred=True),
        shelves.pack(butter, 250, "3.00", pack_id=2),
    ]

    promise = promise_for(small, day(5), sold=sold)

    # 200 g are lacking: a preferred pack of 1,000 would be more than it takes.
    [line] = promise.orders[0].lines
    assert (line.pack.pack_id, line.more_packs) == (2, 1)


def test_what_it_takes_below_safety_and_by_how_much():
    small = butter_kitchen(butter=1_500)
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(4), sold=sold, safety={"butter": 500})

    # From Saturday on 1,500 - 1,200 = 300: 200 under, and 700 before.
    assert promise.answer is PromiseAnswer.FROM_THE_SHELVES
    [low] = promise.below_safety
    assert (low.first_on, low.gap_base, low.more_base) == (day(5), 200, 200)
    assert not low.is_made_good


def test_what_a_suggested_order_brings_keeps_safety():
    small = butter_kitchen(butter=1_250)
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(4), sold=sold, safety={"butter": 500})

    # Without it 450 on Saturday: a pack is suggested for the 50, and has 950 to spare.
    [low] = promise.below_safety
    assert (low.gap_base, low.more_base) == (450, 400)
    assert low.is_made_good


def test_what_does_not_keep_is_bought_as_late_as_it_has_to_be():
    small = butter_kitchen(butter=0)
    keeps = small.nodes["butter"]
    keeps["keeps_days"] = 3
    sold = packs(small, butter=(400, "4"))

    promise = promise_for(small, day(6), sold=sold)

    # Friday's butter keeps until Sunday; Tuesday's would not.
    [order] = promise.orders
    assert order.delivery.deliver_on == day(4)
    assert [(line.packs, line.more_packs) for line in order.lines] == [(1, 1)]
