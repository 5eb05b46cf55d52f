from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from planning.engine.demand.explosion import explode
from planning.engine.kitchen import NodeKind, Scale
from planning.engine.plan_warnings import MadeLate, OverdueCake, RetiredNeeded
from planning.errors import (
    CakeAsComponentError,
    NoYieldError,
    RecipeCycleError,
    SizeError,
    UnscalableCakeError,
)
from tests.engine.small_kitchen import (
    SmallKitchen,
    day,
    demand_of,
    making_of,
    window,
)


def sponge_kitchen(**terms):
    """A cake of 500 g sponge made the day before; a batch is 1 kg, half flour."""
    small = SmallKitchen(**terms)
    small.item("flour")
    small.recipe("sponge", {"flour": 500.0}, yields=1000.0, lead_days=1)
    return small.cake("plain cake", {"sponge": 500.0}, base_size="8 in round x 2")


def exploded(small, **terms):
    kitchen = small.build()
    return kitchen, explode(kitchen, window(**terms))


def test_ingredients_are_needed_on_the_day_their_recipe_is_made():
    small = sponge_kitchen().plan("A", "plain cake", day(3), 2)

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion) == {
        "plain cake": {3: 2.0},
        "sponge": {2: 1000.0},
    }
    assert demand_of(kitchen, explosion) == {"flour": {2: 500.0}}
    assert not explosion.demand.is_late.any()
    assert explosion.warnings == ()


def test_an_empty_plan_asks_for_nothing():
    _, explosion = exploded(sponge_kitchen())

    assert explosion.making == ()
    assert len(explosion.demand.node) == 0
    assert explosion.warnings == ()


def test_an_empty_kitchen_asks_for_nothing():
    _, explosion = exploded(SmallKitchen())

    assert explosion.making == ()


def test_closed_days_move_making_back():
    # Due Wednesday; Tuesday and Monday's eve are closed, so sponge is made Monday.
    small = sponge_kitchen(closed_weekdays=frozenset({1}))
    small.plan("A", "plain cake", day(2))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion)["sponge"] == {0: 500.0}
    assert not explosion.demand.is_late.any()


def test_a_cake_due_on_a_closed_day_is_made_on_the_last_open_day_before():
    # Due Sunday the 10th; Sundays closed and Saturday the 9th too.
    small = sponge_kitchen(
        closed_weekdays=frozenset({6}), closed_on=frozenset({day(5)})
    )
    small.plan("A", "plain cake", day(6))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion) == {
        "plain cake": {4: 1.0},
        "sponge": {3: 500.0},
    }


def test_what_should_have_been_made_before_the_first_day_is_due_on_it_and_late():
    # Monday is closed: due on it, the cake belongs to Sunday, which is past.
    small = sponge_kitchen(closed_weekdays=frozenset({0}))
    small.plan("A", "plain cake", day(0))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion) == {
        "plain cake": {0: 1.0},
        "sponge": {0: 500.0},
    }
    assert all(row.is_late for row in explosion.making)
    assert explosion.demand.is_late.tolist() == [True]
    # From Monday the sponge goes back to Sunday, which is open: 1 day, like the cake.
    names = kitchen.nodes.names
    assert explosion.warnings == (
        MadeLate(names.index("sponge"), 1, planned_on=day(0)),
        MadeLate(names.index("plain cake"), 1, planned_on=day(0)),
    )


def test_demand_is_late_if_any_part_of_it_is():
    small = sponge_kitchen()
    small.cake("flour cake", {"flour": 100.0})
    small.plan("A", "plain cake", day(0))
    small.plan("B", "flour cake", day(0))
    small.plan("C", "flour cake", day(1))

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"flour": {0: 350.0, 1: 100.0}}
    assert explosion.demand.is_late.tolist() == [True, False]
    late = {kitchen.nodes.names[row.node]: row.is_late for row in explosion.making}
    assert late == {"flour cake": False, "plain cake": False, "sponge": True}


def test_only_what_a_late_cake_takes_is_late():
    small = SmallKitchen().item("jam").item("board", "each")
    small.cake(
        "cake",
        {"jam": (100.0, Scale.FILLING), "board": 1.0},
        base_size="8 in round x 2",
        lead_days=1,
    )
    small.plan("one layer, no filling", "cake", day(0), size="8 in round x 1")
    small.plan("in time", "cake", day(1))

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"board": {0: 2.0}, "jam": {0: 100.0}}
    assert explosion.demand.is_late.tolist() == [True, False]


def test_what_falls_after_the_window_is_left_out():
    small = sponge_kitchen()
    small.plan("in", "plain cake", day(7))
    small.plan("half in", "plain cake", day(8))
    small.plan("out", "plain cake", date(2031, 1, 1))

    kitchen, explosion = exploded(small, days=8)

    assert making_of(kitchen, explosion) == {
        "plain cake": {7: 1.0},
        "sponge": {6: 500.0, 7: 500.0},
    }


def test_a_cake_years_ahead_still_gets_its_days_right():
    # 2028-06-10 is a Saturday; Fridays are closed, so the sponge is made on Thursday.
    small = sponge_kitchen(closed_weekdays=frozenset({4}))
    small.plan("soon", "plain cake", day(2))
    small.plan("wedding", "plain cake", date(2028, 6, 10), 3)

    kitchen = small.build()
    explosion = explode(kitchen, window(days=1500))

    made = {
        (kitchen.nodes.names[row.node], row.on): row.amount_base
        for row in explosion.making
    }
    assert made == {
        ("sponge", day(1)): 500.0,
        ("plain cake", day(2)): 1.0,
        ("sponge", date(2028, 6, 8)): 1500.0,
        ("plain cake", date(2028, 6, 10)): 3.0,
    }


def test_an_overdue_line_counts_for_nothing_and_is_a_warning():
    small = sponge_kitchen().plan("A-17", "plain cake", day(-3))

    kitchen, explosion = exploded(small)

    assert explosion.making == ()
    cake = kitchen.nodes.names.index("plain cake")
    assert explosion.warnings == (OverdueCake("A-17", cake, due_on=day(-3)),)


def test_a_retired_item_that_is_still_needed_is_a_warning():
    kitchen = sponge_kitchen().plan("A-17", "plain cake", day(3)).build()
    retired = np.array([name == "flour" for name in kitchen.nodes.names])
    kitchen = replace(kitchen, nodes=replace(kitchen.nodes, retired=retired))

    explosion = explode(kitchen, window())

    # The sponge for Thursday's cake is made a day ahead.
    flour = kitchen.nodes.names.index("flour")
    assert explosion.warnings == (RetiredNeeded(flour, NodeKind.BOUGHT, day(2)),)


@pytest.mark.parametrize(
    ("name", "kind"), [("sponge", NodeKind.MADE), ("plain cake", NodeKind.CAKE)]
)
def test_a_retired_recipe_that_a_planned_cake_needs_is_a_warning(name, kind):
    kitchen = sponge_kitchen().plan("A-17", "plain cake", day(3)).build()
    retired = np.array([each == name for each in kitchen.nodes.names])
    kitchen = replace(kitchen, nodes=replace(kitchen.nodes, retired=retired))

    warnings = explode(kitchen, window()).warnings

    node = kitchen.nodes.names.index(name)
    assert warnings == (RetiredNeeded(node, kind, day(3)),)


def test_tentative_lines_count_unless_left_out():
    small = sponge_kitchen()
    small.plan("sure", "plain cake", day(3))
    small.plan("maybe", "plain cake", day(3), 2, tentative=True)
    small.plan("long ago", "plain cake", day(-3), tentative=True)

    kitchen, with_tentative = exploded(small)
    _, without = exploded(small, tentative=False)

    assert demand_of(kitchen, with_tentative) == {"flour": {2: 750.0}}
    assert len(with_tentative.warnings) == 1
    assert demand_of(kitchen, without) == {"flour": {2: 250.0}}
    assert without.warnings == ()


def test_lines_of_a_cake_grow_with_its_size():
    small = SmallKitchen(layer_height_cm=4.0)
    small.item("batter").item("jam").item("cream").item("board", "each").item("box")
    small.cake(
        "cake",
        {
            "batter": (300.0, Scale.VOLUME),
            "jam": (200.0, Scale.FILLING),
            "cream": (580.0, Scale.SURFACE),
            "board": (1.0, Scale.TIER),
            "box": 1.0,
        },
        base_size="10 cm square x 3",
    )
    small.plan("A", "cake", day(1), 2, size="20 cm square x 3 + 10 cm square x 2")

    kitchen, explosion = exploded(small)

    # Base: volume 300, filling 200, surface 100 + 40*4*3 = 580, one tier.
    # Asked: volume 1200 + 200, filling 800 + 100, two tiers,
    # surface 400 + 80*4*3 + 100 + 40*4*2 = 1780. Two such cakes.
    assert demand_of(kitchen, explosion) == {
        "batter": {1: pytest.approx(2 * 1400)},
        "board": {1: 4.0},
        "box": {1: 2.0},
        "cream": {1: pytest.approx(2 * 1780)},
        "jam": {1: pytest.approx(2 * 900)},
    }


def test_yield_percent_applies_to_any_component():
    small = SmallKitchen().item("strawberries")
    small.recipe("puree", {"strawberries": (900.0, 0.9)}, yields=800.0)
    small.recipe("cream", {"puree": (100.0, 0.8)}, yields=100.0)
    small.cake("cake", {"cream": 400.0}).plan("A", "cake", day(1))

    kitchen, explosion = exploded(small)

    # 400 g cream takes 400 / 0.8 = 500 g puree, that 500/800 * 900/0.9 = 625 g.
    assert making_of(kitchen, explosion)["puree"] == {1: 500.0}
    assert demand_of(kitchen, explosion) == {"strawberries": {1: 625.0}}


def test_rows_are_sorted_by_day_then_name():
    small = SmallKitchen().item("Zest").item("apple").item("Butter")
    small.cake("cake", {"Zest": 1.0, "apple": 1.0, "Butter": 1.0})
    small.plan("B", "cake", day(2)).plan("A", "cake", day(1))

    kitchen, explosion = exploded(small)

    names = [kitchen.nodes.names[node] for node in explosion.demand.node]
    assert names == ["apple", "Butter", "Zest"] * 2
    assert (explosion.demand.day[:3] < explosion.demand.day[3:]).all()


def test_a_recipe_in_itself_is_named_as_the_path():
    small = SmallKitchen().item("flour")
    small.recipe("a", {"b": 1.0, "flour": 1.0}).recipe("b", {"c": 1.0})
    small.recipe("c", {"a": 1.0}).cake("cake", {"a": 1.0})

    with pytest.raises(RecipeCycleError, match="a -> b -> c -> a"):
        exploded(small)


def test_a_recipe_directly_in_itself_is_named():
    small = SmallKitchen().recipe("dough", {"dough": 1.0})

    with pytest.raises(RecipeCycleError, match="dough -> dough"):
        exploded(small)


def test_a_line_with_nothing_to_scale_with_is_an_error():
    small = SmallKitchen().item("jam")
    small.cake("cake", {"jam": (200.0, Scale.FILLING)}, base_size="8 in round x 1")
    small.plan("A", "cake", day(1), size="8 in round x 3")

    with pytest.raises(UnscalableCakeError, match="8 in round x 1, has no filling"):
        exploded(small)


def test_a_cake_without_base_size_cannot_scale():
    small = SmallKitchen().item("jam").cake("cake", {"jam": (200.0, Scale.VOLUME)})
    small.plan("A", "cake", day(1))

    with pytest.raises(UnscalableCakeError, match="no base size"):
        exploded(small)


def test_a_size_that_cannot_be_read_is_an_error():
    small = sponge_kitchen().plan("A", "plain cake", day(1), size="large")

    with pytest.raises(SizeError, match="large"):
        exploded(small)


def test_a_cake_inside_a_recipe_is_an_error():
    small = sponge_kitchen().recipe("trifle", {"plain cake": 1.0})

    with pytest.raises(CakeAsComponentError, match="Trifle takes plain cake"):
        exploded(small)


def test_a_recipe_without_yield_is_an_error_once_it_is_needed():
    small = SmallKitchen().item("flour").recipe("dough", {"flour": 1.0}, yields=0.0)
    small.cake("cake", {"dough": 1.0})
    exploded(small)

    with pytest.raises(NoYieldError, match="dough"):
        exploded(small.plan("A", "cake", day(1)))


def test_largest_batch_divides_the_days_making_and_changes_no_amount():
    small = SmallKitchen().item("flour")
    small.recipe("dough", {"flour": 1000.0}, yields=1000.0, largest_batch=2.0)
    small.cake("cake", {"dough": 1000.0})
    small.plan("A", "cake", day(1), 4).plan("B", "cake", day(2), 5)

    kitchen, explosion = exploded(small)

    dough = [
        row for row in explosion.making if kitchen.nodes.names[row.node] == "dough"
    ]
    assert [(row.batches, row.mixes) for row in dough] == [(4.0, 2), (5.0, 3)]


def test_a_recipe_nested_very_deep_is_still_worked_out():
    small = SmallKitchen().item("flour")
    small.recipe("r0", {"flour": 1.0})
    for depth in range(1, 1500):
        small.recipe(f"r{depth}", {f"r{depth - 1}": 1.0})
    small.cake("cake", {"r1499": 7.0}).plan("A", "cake", day(1))

    kitchen, explosion = exploded(small)

    assert demand_of(kitchen, explosion) == {"flour": {1: 7.0}}
    assert explosion.cakes_behind(small.index("flour"), [day(1)]) == ("A",)
