import pytest

from planning.engine.demand.explosion import explode
from planning.engine.demand.netting import (
    MadeStock,
    RecipeTerms,
    batches_to_make,
    mixes_to_fill,
    net_needs,
)
from planning.engine.kitchen import NO_LIMIT_DAYS
from planning.engine.plan_warnings import MadeTooEarly, NoUseBy
from tests.engine.small_kitchen import (
    SmallKitchen,
    day,
    demand_of,
    making_of,
    window,
)


@pytest.mark.parametrize(
    ("wanted", "step", "batches"),
    [
        (0.0, 1.0, 0.0),
        (1.7578125, 0.0, 1.7578125),
        (1.7578125, 0.5, 2.0),
        (1.5, 0.5, 1.5),
        (2.0000000001, 1.0, 2.0),
        (2.000002, 1.0, 3.0),
        (0.0000001, 1.0, 0.0),
        (1.5000004, 0.5, 1.5),
        (1.5000006, 0.5, 2.0),
    ],
)
def test_batches_are_rounded_up_to_the_step_forgiving_a_millionth(
    wanted, step, batches
):
    assert batches_to_make(wanted, step) == batches


@pytest.mark.parametrize(
    ("batches", "largest", "mixes"),
    [
        (2.0, 0.0, 1),
        (0.5, 1.0, 1),
        (2.0, 2.0, 1),
        (2.0000000001, 2.0, 1),
        (2.5, 1.0, 3),
    ],
)
def test_mixes_are_as_many_as_the_mixer_needs(batches, largest, mixes):
    assert mixes_to_fill(batches, largest) == mixes


ANY_AMOUNT = RecipeTerms(1.0, 0.0, NO_LIMIT_DAYS)
WHOLE_KILO = RecipeTerms(1000.0, 1.0, 3)


@pytest.mark.parametrize(
    ("story", "lots", "net"),
    [
        ("nothing lies ready", [], [100.0, 50.0]),
        ("the earlier day is served first", [(9, 120.0)], [0.0, 30.0]),
        ("it is in date on its last day", [(1, 100.0)], [0.0, 50.0]),
        ("out of date the day after", [(1, 130.0)], [0.0, 50.0]),
        ("the earliest use-by goes first", [(9, 50.0), (1, 100.0)], [0.0, 0.0]),
        ("out of date before it starts", [(-1, 500.0)], [100.0, 50.0]),
        ("no lot is used twice", [(9, 100.0), (9, 20.0)], [0.0, 30.0]),
        ("a fiftieth of a gram is made too", [(9, 149.98)], [0.0, 0.02]),
    ],
)
def test_made_stock_serves_needs_in_the_order_of_their_day(story, lots, net):
    needs = [(1, 1, 100.0), (2, 2, 50.0)]

    found = net_needs(needs, ANY_AMOUNT, MadeStock(lots)).net_base

    assert found == pytest.approx(net, abs=1e-9)


def test_float_noise_that_stock_leaves_is_no_need():
    needs = [(1, 1, 0.1 + 0.2)]

    assert net_needs(needs, ANY_AMOUNT, MadeStock([(9, 0.3)])).making == []


def test_a_rounded_batch_serves_later_days_while_it_keeps():
    needs = [(2, 1, 400.0), (3, 2, 500.0), (4, 3, 200.0)]

    netted = net_needs(needs, WHOLE_KILO, MadeStock())

    # Made on 1, keeps 3 days: to 3. 600 is over, 500 serves day 3, 100 goes bad.
    assert netted.net_base == [400.0, 0.0, 200.0]
    assert netted.making == [(1, 1.0, 600.0), (3, 1.0, 800.0)]


def test_what_one_day_makes_is_summed_before_it_is_rounded():
    # A closed day between brings both needs to one day of making.
    needs = [(2, 1, 400.0), (3, 1, 500.0)]

    netted = net_needs(needs, WHOLE_KILO, MadeStock())

    assert netted.making == [(1, 1.0, 100.0)]


def test_a_small_surplus_is_stock_for_a_later_day():
    # 996 wanted, 1,000 made: the 4 that are over, 0.4 %, serve the next need.
    netted = net_needs([(2, 1, 996.0), (3, 2, 4.0)], WHOLE_KILO, MadeStock())

    assert netted.net_base == [996.0, 0.0]
    assert netted.making == [(1, 1.0, 4.0)]


def test_a_small_need_that_stock_leaves_is_made():
    netted = net_needs([(2, 1, 1000.0)], WHOLE_KILO, MadeStock([(9, 996.0)]))

    assert netted.net_base == [4.0]


def test_loss_is_made_too_and_surplus_is_what_is_left_after_it():
    terms = RecipeTerms(800.0, 1.0, 3)

    netted = net_needs([(1, 1, 1000.0)], terms, MadeStock())

    # A batch of 1000 g loses a fifth: 800 g are left, so 2 batches, 1600 g.
    assert netted.making == [(1, 2.0, 600.0)]


def test_a_need_within_the_tolerance_of_a_batch_has_no_surplus():
    netted = net_needs([(1, 1, 1000.0000001)], WHOLE_KILO, MadeStock())

    assert netted.making == [(1, 1.0, 0.0)]


def curd_kitchen(**terms):
    small = SmallKitchen().item("butter")
    small.recipe("curd", {"butter": 300.0}, yields=1000.0, **terms)
    return small.cake("cake", {"curd": 500.0})


def exploded(small, **terms):
    kitchen = small.build()
    return kitchen, explode(kitchen, window(**terms))


def test_the_next_level_sees_only_what_is_still_to_be_made():
    small = curd_kitchen().plan("A", "cake", day(1)).plan("B", "cake", day(2))
    small.stock("curd", 600.0, use_by=day(2))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion)["curd"] == {2: 400.0}
    assert demand_of(kitchen, explosion) == {"butter": {2: 120.0}}


def test_stock_must_be_in_date_on_the_day_the_parent_is_made():
    # The curd is made two days before its cake; the lot is in date on the day of
    # making, but no longer on the day of the cake.
    small = curd_kitchen(lead_days=2).plan("A", "cake", day(4))
    small.stock("curd", 600.0, use_by=day(3))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion)["curd"] == {2: 500.0}


def test_a_rounded_batch_is_made_stock_for_the_next_cake():
    small = curd_kitchen(batch_step=1.0, keeps_days=2)
    for number in (1, 2, 3):
        small.plan(f"C{number}", "cake", day(number))

    kitchen, explosion = exploded(small)

    curd = [row for row in explosion.making if row.node == small.index("curd")]
    assert [(row.on, row.batches, row.surplus_base) for row in curd] == [
        (day(1), 1.0, 500.0),
        (day(3), 1.0, 500.0),
    ]
    assert demand_of(kitchen, explosion) == {"butter": {1: 300.0, 3: 300.0}}


def test_a_rounded_batch_inside_another_is_rounded_level_by_level():
    small = SmallKitchen().item("sugar")
    small.recipe("syrup", {"sugar": 600.0}, yields=1000.0, batch_step=0.5)
    small.recipe("cream", {"syrup": 700.0}, yields=2000.0, batch_step=1.0)
    small.cake("cake", {"cream": 1500.0}).plan("A", "cake", day(1))

    kitchen, explosion = exploded(small)

    # 1 batch of cream takes 700 g of syrup: 1 batch of it (0.7 rounded to halves).
    assert making_of(kitchen, explosion) == {
        "cake": {1: 1.0},
        "cream": {1: 2000.0},
        "syrup": {1: 1000.0},
    }
    assert demand_of(kitchen, explosion) == {"sugar": {1: 600.0}}


def test_what_is_made_for_a_need_serves_it_past_its_keeping_and_is_a_warning():
    small = curd_kitchen(lead_days=3, keeps_days=2).plan("A", "cake", day(5))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion)["curd"] == {2: 500.0}
    curd = kitchen.nodes.names.index("curd")
    assert explosion.warnings == (
        MadeTooEarly(curd, made_on=day(2), needed_on=day(5), keeps_days=2),
    )


def test_keeping_just_long_enough_is_no_warning():
    small = curd_kitchen(lead_days=3, keeps_days=4).plan("A", "cake", day(5))

    _, explosion = exploded(small)

    assert explosion.warnings == ()


def test_made_stock_without_use_by_keeps_for_ever_and_is_a_warning():
    small = curd_kitchen().plan("A", "cake", day(13)).stock("curd", 500.0)

    kitchen, explosion = exploded(small)

    assert "curd" not in making_of(kitchen, explosion)
    assert explosion.warnings == (NoUseBy(kitchen.nodes.names.index("curd")),)


def test_bought_stock_does_not_lower_demand():
    small = curd_kitchen().plan("A", "cake", day(1)).stock("butter", 9000.0)

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"butter": {1: 150.0}}


def test_a_negative_lot_is_no_stock():
    small = curd_kitchen().plan("A", "cake", day(1)).stock("curd", -200.0, day(5))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion)["curd"] == {1: 500.0}


def test_finished_cakes_serve_planned_cakes_of_the_base_size():
    small = SmallKitchen().item("board", "each")
    small.cake("cake", {"board": 1.0}, base_size="8 in round x 3")
    small.plan("A", "cake", day(1), 2, size="8 in round x 3")
    small.plan("B", "cake", day(1), 1, size="6 in round x 2")
    small.plan("C", "cake", day(2), 2)
    small.stock("cake", 3.0, use_by=day(2))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion) == {"cake": {1: 1.0, 2: 1.0}}
    assert demand_of(kitchen, explosion) == {"board": {1: 1.0, 2: 1.0}}
    assert explosion.cakes_behind(small.index("board"), [day(1)]) == ("B",)


def test_lateness_stops_where_stock_serves_the_need():
    small = SmallKitchen().item("butter")
    small.recipe("curd", {"butter": 300.0}, yields=1000.0)
    small.recipe("filling", {"curd": 500.0}, yields=500.0, lead_days=1)
    small.cake("cake", {"filling": 500.0}).plan("A", "cake", day(0))
    small.plan("B", "cake", day(1)).stock("curd", 1000.0, use_by=day(0))

    _, explosion = exploded(small)

    late = {(row.node, row.on) for row in explosion.making if row.is_late}
    assert late == {(small.index("filling"), day(0))}
    assert len(explosion.demand.node) == 0


def test_a_finished_cake_is_not_late_whenever_it_should_have_been_made():
    # To be made on day -1 for day 1; the finished one leaves nothing to make for it.
    small = SmallKitchen().item("board", "each")
    small.cake("cake", {"board": 1.0}, lead_days=2)
    small.plan("A", "cake", day(1)).plan("B", "cake", day(5))
    small.stock("cake", 1.0, use_by=day(1))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion) == {"cake": {3: 1.0}}
    assert not any(row.is_late for row in explosion.making)
    assert explosion.warnings == ()


def test_but_one_that_is_still_to_be_made_is():
    small = SmallKitchen().item("board", "each")
    small.cake("cake", {"board": 1.0}, lead_days=2).plan("A", "cake", day(1))

    _, explosion = exploded(small)

    assert [row.is_late for row in explosion.making] == [True]
