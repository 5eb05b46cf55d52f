"""One more cake, worked out on its own path only, is the same as planning it all."""

from dataclasses import fields
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.kitchen import NodeKind
from planning.engine.plan import ShortfallKind
from planning.engine.scenarios.one_more import OneMore, add_one_more, with_cake
from planning.engine.scenarios.promise import Promiser
from planning.engine.shelves.projection import LEAST_LACK_BASE, project
from planning.engine.shelves.supplies import read_shelf
from planning.engine.shortfalls.shortfalls import find_shortfalls
from planning.errors import DueInThePastError, NoCakesAskedError
from tests.benchmarks import kitchens
from tests.engine.small_kitchen import MONDAY, SmallKitchen, day, window

FAR_DAYS = 450  # so far ahead a plan keeps no column for every day


def asked(kitchen, number, *, size="", days=3, quantity=1.0):
    cakes = np.flatnonzero(kitchen.nodes.kind == NodeKind.CAKE).tolist()
    due_on = kitchens.FROM_ON + timedelta(days=days)
    return OneMore(cakes[number % len(cakes)], size, due_on, quantity)


def seeded(seed, size=kitchens.SMALL):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kitchens, "SEED", seed)
        return kitchens.kitchen_of(size), kitchens.window_of(size)


def assert_same_figures(found, whole):
    for column in fields(whole):
        mine, theirs = getattr(found, column.name), getattr(whole, column.name)
        assert np.array_equal(mine, theirs), column.name


def whole_shortfalls(kitchen, window, explosion):
    deliveries = possible_deliveries(kitchen, window)
    projection = project(kitchen, window, explosion.demand)
    found = find_shortfalls(
        kitchen, window, projection, explosion.cakes_behind, deliveries
    )
    return projection, {row.node: row for row in found}


@settings(max_examples=150, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    number=st.integers(0, 20),
    size=st.sampled_from(kitchens.SIZES),
    days=st.one_of(st.integers(0, 20), st.just(FAR_DAYS)),
    quantity=st.sampled_from([1.0, 2.0, 7.0]),
)
def test_the_figures_are_those_of_a_whole_new_plan(seed, number, size, days, quantity):
    kitchen, days_ahead = seeded(seed)
    one_more = asked(kitchen, number, size=size, days=days, quantity=quantity)

    shelf = read_shelf(kitchen, days_ahead)
    change = add_one_more(explode(kitchen, days_ahead), days_ahead, shelf, one_more)

    whole = explode(with_cake(kitchen, days_ahead, one_more), days_ahead)
    assert_same_figures(change.figures, whole.figures)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    number=st.integers(0, 20),
    days=st.integers(0, 13),
    quantity=st.sampled_from([1.0, 5.0]),
)
def test_what_it_makes_short_is_what_a_whole_new_plan_says(
    seed, number, days, quantity
):
    kitchen, days_ahead = seeded(seed)
    one_more = asked(kitchen, number, days=days, quantity=quantity)
    explosion = explode(kitchen, days_ahead)
    deliveries = possible_deliveries(kitchen, days_ahead)

    promise = Promiser(explosion, days_ahead, deliveries, ()).ask(one_more)

    before, _ = whole_shortfalls(kitchen, days_ahead, explosion)
    with_it = with_cake(kitchen, days_ahead, one_more)
    after, shortfalls = whole_shortfalls(
        with_it, days_ahead, explode(with_it, days_ahead)
    )
    more_base = after.outstanding_base - before.outstanding_base
    rows = np.flatnonzero((more_base >= LEAST_LACK_BASE).any(axis=1)).tolist()
    assert [short.node for short in promise.shorts] == [after.nodes[n] for n in rows]
    for short, row in zip(promise.shorts, rows, strict=True):
        theirs = shortfalls[short.node]
        assert theirs.kind is ShortfallKind.OUT
        assert short.short_base == theirs.short_base
        assert short.more_base == more_base[row].max()
        assert set(short.cakes) <= set(theirs.cakes)
        is_untouched = before.outstanding_base[row].max() < LEAST_LACK_BASE
        if is_untouched:  # then it is short on the same days in both
            assert short.first_on == theirs.first_on
            assert set(short.cakes) == set(theirs.cakes) - {""}


def test_a_medium_kitchen_too_for_every_cake_of_it():
    kitchen, days_ahead = seeded(7, kitchens.MEDIUM)
    explosion, shelf = explode(kitchen, days_ahead), read_shelf(kitchen, days_ahead)

    for number in range(12):
        one_more = asked(kitchen, number, size=kitchens.SIZES[number % 6], days=number)
        change = add_one_more(explosion, days_ahead, shelf, one_more)
        whole = explode(with_cake(kitchen, days_ahead, one_more), days_ahead)
        assert_same_figures(change.figures, whole.figures)


def batter_kitchen():
    """Batter comes in whole batches of 1,000 g; half a batch is left on Monday."""
    kitchen = SmallKitchen().item("flour").item("salt")
    kitchen.recipe("batter", {"flour": 600}, yields=1_000, batch_step=1)
    kitchen.cake("Torte", {"batter": 500})
    kitchen.cake("Slab", {"batter": 1_200, "salt": 10})
    return kitchen.plan("T-1", "Torte", day(0)).stock("flour", 5_000)


def change_of(small, cake, due_on, quantity=1.0):
    kitchen, days_ahead = small.build(), window()
    one_more = OneMore(small.index(cake), "", due_on, quantity)
    shelf = read_shelf(kitchen, days_ahead)
    return add_one_more(explode(kitchen, days_ahead), days_ahead, shelf, one_more)


def test_what_a_rounded_batch_left_over_makes_a_cake_for_nothing():
    change = change_of(batter_kitchen(), "Torte", day(2))

    assert list(change.nodes) == []  # the other half of Monday's batch


def test_a_cake_takes_whole_batches_beyond_what_is_left_over():
    change = change_of(batter_kitchen(), "Slab", day(2))

    # 1,200 - 500 left over = 700 g of batter: one more batch, 600 g of flour
    assert [change.kitchen.nodes.names[node] for node in change.nodes] == [
        "flour",
        "salt",
    ]
    assert change.extra_base.tolist() == [600, 10]
    assert change.after().closing_base[0].tolist()[:3] == [4_400, 4_400, 3_800]


def test_a_cake_that_comes_first_takes_what_lay_ready_for_another():
    small = SmallKitchen().item("sugar")
    small.recipe("syrup", {"sugar": 1}, yields=1).cake("Baba", {"syrup": 100})
    small.plan("B-1", "Baba", day(5)).stock("syrup", 100).stock("sugar", 500)

    change = change_of(small, "Baba", day(1))

    # the syrup serves the new cake; the one of Saturday needs 100 g of sugar now
    assert change.used_base[:, 0].tolist()[:6] == [0, 0, 0, 0, 0, 100]


def test_what_should_have_been_made_before_today_is_late():
    small = SmallKitchen().item("paste")
    small.recipe("roses", {"paste": 1}, yields=1, lead_days=3)
    small.cake("Wedding", {"roses": 40}, lead_days=1)

    late = change_of(small, "Wedding", day(2)).late

    # made on Tuesday, so the roses on the Saturday before: two days ago
    assert [(small.index("roses"), 2)] == [(row.node, row.days_late) for row in late]
    assert change_of(small, "Wedding", day(4)).late == ()


def test_a_cake_that_itself_should_be_made_already_is_late():
    small = SmallKitchen().item("paste").cake("Wedding", {"paste": 1}, lead_days=2)

    late = change_of(small, "Wedding", day(1)).late

    assert [(small.index("Wedding"), 1)] == [(row.node, row.days_late) for row in late]


@pytest.mark.parametrize(
    ("due_on", "quantity", "error"),
    [
        (MONDAY - timedelta(days=1), 1.0, DueInThePastError),
        (MONDAY, 0.0, NoCakesAskedError),
        (MONDAY, -1.0, NoCakesAskedError),
        (MONDAY, float("nan"), NoCakesAskedError),
    ],
)
def test_what_nobody_can_bake_is_refused(due_on, quantity, error):
    with pytest.raises(error):
        change_of(batter_kitchen(), "Torte", due_on, quantity)
