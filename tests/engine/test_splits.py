import pytest

from planning.engine.demand.explosion import explode
from planning.engine.kitchen import NO_LIMIT_DAYS
from planning.engine.plan_warnings import PartLeftOver
from tests.engine.small_kitchen import (
    SmallKitchen,
    day,
    demand_of,
    window,
)


def egg_kitchen(*, keeps_days=1):
    """White 30 g and yolk 20 g from an egg; meringue takes whites, curd yolks."""
    small = SmallKitchen().item("egg", "each")
    small.part("white", whole="egg", yields=30.0, keeps_days=keeps_days)
    small.part("yolk", whole="egg", yields=20.0, keeps_days=keeps_days)
    small.cake("meringue", {"white": 300.0})
    return small.cake("curd tart", {"yolk": 100.0})


def exploded(small):
    kitchen = small.build()
    return kitchen, explode(kitchen, window())


def test_a_day_takes_the_largest_number_of_wholes_of_its_parts():
    small = egg_kitchen().plan("M", "meringue", day(1)).plan("T", "curd tart", day(1))

    kitchen, explosion = exploded(small)

    # 300 / 30 = 10 eggs; 100 / 20 = 5 of their yolks; 200 - 100 = 100 g are over.
    assert demand_of(kitchen, explosion) == {"egg": {1: 10.0}}
    yolk = kitchen.nodes.names.index("yolk")
    assert explosion.warnings == (PartLeftOver(yolk, day(1), 100.0),)


def test_parts_and_wholes_needed_on_a_day_add_up():
    small = egg_kitchen().cake("sponge", {"egg": 4.0})
    small.plan("M", "meringue", day(1)).plan("S", "sponge", day(1))

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"egg": {1: 14.0}}


@pytest.mark.parametrize(
    ("keeps_days", "tart_on", "eggs"),
    [
        (1, 2, {1: 10.0, 2: 5.0}),  # what was left over went bad the same day
        (2, 2, {1: 10.0}),
        (2, 3, {1: 10.0, 3: 5.0}),
        (NO_LIMIT_DAYS, 13, {1: 10.0}),
    ],
)
def test_what_is_left_over_serves_later_days_while_it_keeps(keeps_days, tart_on, eggs):
    small = egg_kitchen(keeps_days=keeps_days)
    small.plan("M", "meringue", day(1)).plan("T", "curd tart", day(tart_on))

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"egg": eggs}


def test_what_is_left_over_is_used_once():
    small = egg_kitchen(keeps_days=3).plan("M", "meringue", day(1))
    small.plan("T", "curd tart", day(2), 2).plan("U", "curd tart", day(3))

    kitchen, explosion = exploded(small)

    # 200 g of yolk over, all used on day 2; day 3 needs 5 eggs again.
    assert demand_of(kitchen, explosion) == {"egg": {1: 10.0, 3: 5.0}}


def test_wholes_are_not_rounded():
    small = egg_kitchen().plan("T", "curd tart", day(1), 0.5)

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"egg": {1: 2.5}}


def test_a_part_in_stock_serves_first_while_in_date():
    small = egg_kitchen().plan("T", "curd tart", day(1)).plan("U", "curd tart", day(2))
    small.stock("yolk", 160.0, use_by=day(1))

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"egg": {2: 5.0}}


def test_stock_serves_before_what_is_left_over():
    small = egg_kitchen(keeps_days=3)
    small.plan("M", "meringue", day(1)).plan("T", "curd tart", day(2), 3)
    small.stock("yolk", 100.0, use_by=day(9))

    kitchen, explosion = exploded(small)

    # Day 2 wants 300 g: 100 from stock, 200 left over from day 1.
    assert demand_of(kitchen, explosion) == {"egg": {1: 10.0}}


def test_parts_of_a_made_recipe_are_needed_when_that_is_made():
    small = egg_kitchen()
    small.recipe("curd", {"yolk": (90.0, 0.9)}, yields=500.0, lead_days=2, loss=0.5)
    small.cake("cake", {"curd": 500.0}).plan("A", "cake", day(5))

    kitchen, explosion = exploded(small)

    # 500 / 0.5 = 1000 g: 2 batches, 200 g of yolk as purchased, 10 eggs.
    assert demand_of(kitchen, explosion) == {"egg": {3: 10.0}}


def test_a_late_part_makes_its_whole_late():
    small = egg_kitchen().cake("late tart", {"yolk": 20.0}, lead_days=1)
    small.plan("A", "late tart", day(0))

    _, explosion = exploded(small)

    assert explosion.demand.is_late.tolist() == [True]


def test_a_late_part_that_stock_serves_makes_no_whole_late():
    small = egg_kitchen().cake("late tart", {"yolk": 20.0}, lead_days=1)
    small.plan("A", "late tart", day(0)).plan("M", "meringue", day(0))
    small.stock("yolk", 20.0, use_by=day(9))

    _, explosion = exploded(small)

    # The eggs are for the meringue, which is made on its day.
    assert not explosion.demand.is_late.any()


def left_over(small):
    """What is left over of which part on which day."""
    kitchen, explosion = exploded(small)
    return [
        (kitchen.nodes.names[each.node], each.on, each.amount_base)
        for each in explosion.warnings
        if isinstance(each, PartLeftOver)
    ]


def test_what_a_later_day_uses_in_date_is_not_to_be_frozen():
    # Ten eggs on Tuesday for 300 g of white leave 200 g of yolk, which keep to
    # Wednesday, when a tart takes 100 g. Only the other 100 g are in nobody's way.
    small = egg_kitchen(keeps_days=2)
    small.plan("M", "meringue", day(1)).plan("T", "curd tart", day(2))

    assert left_over(small) == [("yolk", day(1), 100.0)]


def test_nothing_is_said_of_what_later_days_use_up():
    small = egg_kitchen(keeps_days=3).plan("M", "meringue", day(1))
    small.plan("T", "curd tart", day(2)).plan("U", "curd tart", day(3))

    assert left_over(small) == []


def test_what_is_left_over_of_two_days_is_told_by_the_day_it_is_left():
    # Wednesday's tart takes of Tuesday's yolks, the first to go out of date; the
    # meringue of Wednesday leaves 200 g more.
    small = egg_kitchen(keeps_days=3)
    small.plan("M", "meringue", day(1)).plan("N", "meringue", day(2))
    small.plan("T", "curd tart", day(3), 3)

    assert left_over(small) == [("yolk", day(2), 100.0)]


def test_use_after_the_last_day_of_the_plan_counts():
    # The plan's last day is day 13; what is left over then keeps to day 14.
    small = egg_kitchen(keeps_days=2)
    small.plan("M", "meringue", day(13)).plan("T", "curd tart", day(14), 2)

    assert left_over(small) == []


def test_stock_that_serves_leaves_more_of_what_is_left_over():
    # The 100 g in stock serve Wednesday before the 200 g left over on Tuesday.
    small = egg_kitchen(keeps_days=2)
    small.plan("M", "meringue", day(1)).plan("T", "curd tart", day(2))
    small.stock("yolk", 100.0, use_by=day(9))

    assert left_over(small) == [("yolk", day(1), 200.0)]


@pytest.mark.parametrize(
    ("tarts", "expected"),
    [
        # 10 eggs for 300 g of white; a tenth of an egg's yolk is 2 g.
        (1.982, []),  # 198.2 g of 200 used
        (1.98, [("yolk", day(1), 2.0)]),
    ],
)
def test_less_than_a_tenth_of_a_whole_is_not_worth_a_note(tarts, expected):
    small = egg_kitchen().plan("M", "meringue", day(1))
    small.plan("T", "curd tart", day(1), tarts)

    assert left_over(small) == expected
