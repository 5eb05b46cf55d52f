"""Can one more cake be taken? By figures worked out by hand."""

from datetime import UTC, datetime
from decimal import Decimal

from planning.engine.scenarios.promise import Cause, PromiseAnswer
from tests.engine.promised import (
    butter_kitchen,
    names,
    names_of_lines,
    packs,
    promise_for,
    short_on_saturday,
)
from tests.engine.small_kitchen import SmallKitchen, day


def test_yes_from_the_shelves_and_what_it_costs_at_the_best_price():
    small = butter_kitchen(butter=1_200)
    sold = packs(small, butter=(1_000, "9.99"), eggs=(30, "7.50"))

    promise = promise_for(small, day(4), sold=sold)

    # 400 g at 0.00999 is 3.996; 4 eggs at 0.25 are 1: 4.996, half up
    assert promise.answer is PromiseAnswer.FROM_THE_SHELVES
    assert promise.order_by is None
    assert promise.ingredients_cost == Decimal("5.00")
    assert promise.hurt_cakes == ()
    assert promise.orders == ()


def test_yes_if_one_pack_is_ordered_that_nobody_needed_before():
    small = butter_kitchen()  # 1,000 - 800 leaves 200 g
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(5), sold=sold)

    # Short by 200 g on Saturday, with T-2. Friday's truck, ordered by Thursday.
    assert promise.answer is PromiseAnswer.IF_ORDERED
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
    assert promise.answer is PromiseAnswer.FROM_THE_SHELVES
    assert promise.own_orders == ()
    [order] = promise.later_orders
    assert (order.delivery.deliver_on, order.is_for_cake) == (day(4), False)
    assert promise.order_by == datetime(2026, 5, 7, 14, tzinfo=UTC)
    assert promise.hurt_cakes == ("T-2",)


def test_cakes_that_are_short_without_it_as_well_are_not_hurt_by_it():
    small = short_on_saturday()
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(4), sold=sold)

    # Friday's pack is suggested for the 200, and has the 400 more of the cake to spare.
    assert promise.answer is PromiseAnswer.FROM_THE_SHELVES
    [short] = promise.shorts
    assert (short.more_base, short.short_base) == (400, 600)
    assert (short.cakes, promise.hurt_cakes) == ((), ())
    assert promise.orders == ()


def test_what_cakes_that_are_short_anyway_need_more_has_to_be_ordered():
    small = short_on_saturday()
    sold = packs(small, butter=(500, "5"))

    promise = promise_for(small, day(4), sold=sold)

    assert promise.answer is PromiseAnswer.FROM_THE_SHELVES
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
    assert promise.answer is PromiseAnswer.IF_ORDERED
    [own], [later] = promise.own_orders, promise.later_orders
    assert (own.delivery.deliver_on, later.delivery.deliver_on) == (day(1), day(4))
    assert names_of_lines(promise, own) == ["butter"]
    assert names_of_lines(promise, later) == ["eggs"]


def test_what_nothing_brings_hurts_and_what_can_be_ordered_hurts_only_if_it_is_not():
    small = butter_kitchen(butter=1_000, eggs=20)
    small.cake("Pavlova", {"eggs": 4}).plan("P-1", "Pavlova", day(5))
    sold = packs(small, butter=(1_000, "9.99"), eggs=(30, "7.50"))

    promise = promise_for(small, day(0), quantity=3, sold=sold)

    # 1,200 g of 1,000 today. Of 20 eggs 12 are used today and 4 on Wednesday: T-2 and
    # P-1 lack 4 on Saturday, which Friday's truck can bring.
    assert promise.answer is PromiseAnswer.NO
    assert promise.lost_cakes == ("T-1", "T-2")
    assert promise.unordered_cakes == ("P-1",)
    assert promise.hurt_cakes == ("P-1", "T-1", "T-2")


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
    assert promise.answer is PromiseAnswer.IF_ORDERED
    [order] = promise.orders
    assert [(line.packs, line.more_packs) for line in order.lines] == [(1, 0)]
    assert order.more_cost == 0


def test_no_because_no_delivery_is_in_time():
    small = butter_kitchen()
    sold = packs(small, butter=(1_000, "9.99"))

    promise = promise_for(small, day(0), quantity=2, sold=sold)

    # 800 of 1,000 go today; Wednesday's torte lacks 200, which Tuesday's truck brings;
    # three tortes today lack 200 at once, and nothing comes today.
    assert promise.answer is PromiseAnswer.FROM_THE_SHELVES
    assert [order.delivery.deliver_on for order in promise.later_orders] == [day(1)]
    promise = promise_for(small, day(0), quantity=3, sold=sold)
    assert promise.answer is PromiseAnswer.NO
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


def test_cakes_short_anyway_are_named_where_nothing_brings_what_more_they_lack():
    small = butter_kitchen()
    small.plan("T-3", "Torte", day(5), 4)  # Saturday lacks 1,400 g without it

    promise = promise_for(small, day(4))

    assert promise.answer is PromiseAnswer.NO
    assert promise.hurt_cakes == ()
    assert promise.worse_cakes == ("T-2", "T-3")


def test_cakes_that_are_short_anyway_lose_nothing_that_an_order_brings():
    small = butter_kitchen()
    small.plan("T-3", "Torte", day(5), 4)

    promise = promise_for(small, day(4), sold=packs(small, butter=(1_000, "9.99")))

    assert promise.answer is not PromiseAnswer.NO
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
