"""Can one more cake be taken? By figures worked out by hand."""

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.scenarios.one_more import OneMore
from planning.engine.scenarios.promise import Answer, Cause, Promiser
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.small_kitchen import SmallKitchen, day, floats, window

TUE, FRI = 1, 4


def butter_kitchen(*, butter=1_000, eggs=30):
    """A torte takes 400 g of butter and 4 eggs; two are planned, Wednesday, Saturday.

    Dairy comes on Tuesday and Friday, ordered by 14:00 of the day before.
    """
    small = SmallKitchen().item("butter").item("eggs", unit="each")
    small.cake("Torte", {"butter": 400, "eggs": 4})
    small.plan("T-1", "Torte", day(2)).plan("T-2", "Torte", day(5))
    return small.stock("butter", butter).stock("eggs", eggs)


def dairy(**terms):
    return shelves.supplier("Dairy", days=(TUE, FRI), **terms)


def packs(small, *, butter=None, eggs=None, **terms):
    found = []
    if butter:
        size, price = butter
        found.append(shelves.pack(small.index("butter"), size, price, **terms))
    if eggs:
        size, price = eggs
        found.append(shelves.pack(small.index("eggs"), size, price))
    return found


def promise_for(
    small,
    due_on,
    *,
    cake="Torte",
    quantity=1.0,
    sold=(),
    suppliers=None,
    safety=None,
    planned_to=None,
):
    kitchen = replace(
        small.build(),
        suppliers=tuple([dairy()] if suppliers is None else suppliers),
        packs=tuple(sold),
    )
    if safety:
        safety_base = floats([safety.get(name, 0) for name in kitchen.nodes.names])
        kitchen = replace(
            kitchen, nodes=replace(kitchen.nodes, safety_base=safety_base)
        )
    promiser = promiser_of(kitchen, window(), planned_to)
    return promiser.ask(OneMore(small.index(cake), "", due_on, quantity))


def promiser_of(kitchen, days_ahead, planned_to=None):
    explosion = explode(kitchen, days_ahead)
    deliveries = possible_deliveries(kitchen, days_ahead)
    bought = usual_rule(kitchen, days_ahead, explosion.demand, deliveries)
    return Promiser(explosion, days_ahead, deliveries, bought.orders, planned_to)


def names_of_lines(promise, order):
    nodes = promise.effect.kitchen.nodes
    return [nodes.names[line.pack.node] for line in order.lines]


def names(promise, rows):
    return [promise.effect.kitchen.nodes.names[row.node] for row in rows]


def test_yes_from_the_shelves_and_what_it_costs_at_the_best_price():
    small = butter_kitchen(butter=1_200)
    sold = packs(small, butter=(1_000, "9.99"), eggs=(30, "7.50"))

    promise = promise_for(small, day(4), sold=sold)

    # 400 g at 0.00999 is 3.996; 4 eggs at 0.25 are 1: 4.996, half up
    assert promise.answer is Answer.FROM_THE_SHELVES
    assert promise.order_by is None
    assert promise.ingredients_cost == Decimal("5.00")
    assert promise.hurt_cakes == ()
    assert promise.orders == ()


def test_yes_if_one_pack_is_ordered_that_nobody_needed_before():
    small = butter_kitchen()  # 1,000 - 800 leaves 200 g
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(5), sold=sold)

    # Short by 200 g on Saturday, with T-2. Friday's truck, ordered by Thursday.
    assert promise.answer is Answer.IF_ORDERED
    assert promise.later_orders == ()
    assert promise.order_by == datetime(2026, 5, 7, 14, tzinfo=UTC)
    [short] = promise.shorts
    assert (short.first_on, short.more_base, short.short_base) == (day(5), 200, 200)
    assert promise.hurt_cakes == ("T-2",)
    [order] = promise.orders
    [line] = order.lines
    assert (order.delivery.deliver_on, order.is_new) == (day(4), True)
    assert (line.packs, line.more_packs, line.more_cost) == (0, 1, Decimal("9.99"))


def test_yes_from_the_shelves_where_only_a_later_cake_needs_the_order():
    small = butter_kitchen()  # 400 on Wednesday and 400 on Friday leave 200 of 1,000
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(4), sold=sold)

    # Friday has what it takes; Saturday's T-2 lacks 200, which Friday's truck brings.
    assert promise.answer is Answer.FROM_THE_SHELVES
    assert promise.own_orders == ()
    [order] = promise.later_orders
    assert (order.delivery.deliver_on, order.is_for_cake) == (day(4), False)
    assert promise.order_by == datetime(2026, 5, 7, 14, tzinfo=UTC)
    assert promise.hurt_cakes == ("T-2",)


def short_on_saturday():
    """1,000 g: 400 on Wednesday, 800 on Saturday, so 200 are short without more."""
    return butter_kitchen().plan("T-3", "Torte", day(5))


def test_cakes_that_are_short_without_it_as_well_are_not_hurt_by_it():
    small = short_on_saturday()
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(4), sold=sold)

    # Friday's pack is suggested for the 200, and has the 400 more of the cake to spare.
    assert promise.answer is Answer.FROM_THE_SHELVES
    [short] = promise.shorts
    assert (short.more_base, short.short_base) == (400, 600)
    assert (short.cakes, promise.hurt_cakes) == ((), ())
    assert promise.orders == ()


def test_what_cakes_that_are_short_anyway_need_more_has_to_be_ordered():
    small = short_on_saturday()
    sold = packs(small, butter=(500, "5"))

    promise = promise_for(small, day(4), sold=sold)

    assert promise.answer is Answer.FROM_THE_SHELVES
    assert promise.hurt_cakes == ()
    [order] = promise.later_orders
    assert [(line.packs, line.more_packs) for line in order.lines] == [(1, 1)]


def test_a_cake_that_was_short_of_one_day_is_hurt_on_an_earlier_one_alone():
    small = short_on_saturday()
    small.plan("T-4", "Torte", day(3))  # 1,000 - 400 - 400 = 200 on Thursday
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(1), sold=sold)

    # On Tuesday 600 are left, on Wednesday 200, and T-4 lacks 200 on Thursday; T-2 and
    # T-3 lack on Saturday whatever is done on Tuesday.
    assert promise.hurt_cakes == ("T-4",)


def test_the_cake_itself_and_a_later_one_may_need_an_order_each():
    small = butter_kitchen(butter=400, eggs=8)
    small.nodes["butter"]["keeps_days"] = 3
    sold = packs(small, butter=(400, "4"), eggs=(4, "1"))

    promise = promise_for(small, day(2), sold=sold)

    # On Wednesday 800 g of 400 and 8 of 8 eggs: butter for the cake comes on Tuesday,
    # and the eggs that T-2 lacks on Saturday come on Friday.
    assert promise.answer is Answer.IF_ORDERED
    [own], [later] = promise.own_orders, promise.later_orders
    assert (own.delivery.deliver_on, later.delivery.deliver_on) == (day(1), day(4))
    assert names_of_lines(promise, own) == ["butter"]
    assert names_of_lines(promise, later) == ["eggs"]


def test_a_line_that_is_suggested_already_grows_no_more_than_it_must():
    small = butter_kitchen(butter=100)
    sold = packs(small, butter=(500, "5"))

    promise = promise_for(small, day(5), quantity=2, sold=sold)

    # Wednesday lacks 300 and Saturday 400: two packs on Tuesday leave 300 of 1,000.
    # Two more tortes take 800: 500 beyond that, one more pack.
    [order] = promise.orders
    [line] = order.lines
    assert (order.delivery.deliver_on, order.is_new) == (day(1), False)
    assert (line.packs, line.more_packs) == (2, 1)


def test_what_is_suggested_may_be_enough_but_has_to_be_ordered():
    small = butter_kitchen(butter=700)
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(5), sold=sold)

    # Saturday's 100 g make one pack of 1,000 on Friday; another 400 g are in it.
    assert promise.answer is Answer.IF_ORDERED
    [order] = promise.orders
    assert [(line.packs, line.more_packs) for line in order.lines] == [(1, 0)]
    assert order.more_cost == 0


def test_no_because_no_delivery_is_in_time():
    small = butter_kitchen()
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(0), quantity=2, sold=sold)

    # 800 of 1,000 go today; Wednesday's torte lacks 200, which Tuesday's truck brings;
    # three tortes today lack 200 at once, and nothing comes today.
    assert promise.answer is Answer.FROM_THE_SHELVES
    assert [order.delivery.deliver_on for order in promise.later_orders] == [day(1)]
    promise = promise_for(small, day(0), quantity=3, sold=sold)
    assert promise.answer is Answer.NO
    [block] = promise.blocks
    assert names(promise, [block]) == ["butter"]
    assert (block.on, block.cause, block.short_base) == (day(0), Cause.TOO_LATE, 200)


def test_no_because_nobody_sells_it():
    promise = promise_for(butter_kitchen(), day(3), sold=())

    [block] = promise.blocks
    assert (block.on, block.cause) == (day(5), Cause.NOT_SOLD)
    assert names(promise, [block]) == ["butter"]
    assert promise.ingredients_cost == 0
    assert len(promise.without_price) == 2


def test_no_because_it_should_have_been_made_already():
    small = butter_kitchen()
    small.recipe("roses", {"butter": 1}, yields=100, lead_days=4)
    small.cake("Wedding", {"roses": 100})

    promise = promise_for(small, day(2), cake="Wedding")

    [block] = promise.blocks
    assert (block.cause, block.days_late) == (Cause.MADE_TOO_LATE, 2)
    assert (names(promise, [block]), block.on) == (["roses"], day(-2))


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
    assert promise.answer is Answer.FROM_THE_SHELVES
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


def test_cakes_short_anyway_are_named_where_nothing_brings_what_more_they_lack():
    small = butter_kitchen()
    small.plan("T-3", "Torte", day(5), 4)  # Saturday lacks 1,400 g without it

    promise = promise_for(small, day(4))

    assert promise.answer is Answer.NO
    assert promise.hurt_cakes == ()
    assert promise.worse_cakes == ("T-2", "T-3")


def test_cakes_that_are_short_anyway_lose_nothing_that_an_order_brings():
    small = butter_kitchen()
    small.plan("T-3", "Torte", day(5), 4)

    promise = promise_for(small, day(4), sold=packs(small, butter=(1_000, "9.99")))

    assert promise.answer is not Answer.NO
    assert promise.worse_cakes == ()


def test_what_a_batch_takes_first_and_leaves_over_for_later_is_told_apart():
    small = SmallKitchen().item("butter")
    small.recipe("Icing", {"butter": 500}, yields=1_000, batch_step=1)
    small.cake("Torte", {"butter": 400, "Icing": 100})
    small.plan("T-1", "Torte", day(5))

    promise = promise_for(small, day(4))

    # 500 for the batch and 400 on Friday, none of the 500 on Saturday
    [butter] = promise.effect.nodes
    assert promise.effect.extra_base.tolist() == [400]
    assert promise.effect.most_extra(butter) == (day(4), 900)
