"""What is unbaked keeps no longer than what went into it, in plan and reference alike.

Whip: a batch of 1,000 g takes 500 g of cream and keeps five days. Tuesday's cake takes
600 g of it and leaves 400 g over, which is enough for the 300 g of Thursday.
"""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from planning.engine.demand.explosion import explode
from planning.engine.kitchen import OpenOrderLines
from planning.engine.scenarios.one_more import OneMore, add_one_more
from planning.engine.shelves.supplies import read_shelf
from tests.engine import shelves
from tests.engine.small_kitchen import SmallKitchen, day, demand_of, making_of, window
from tests.reference import by_hand

TUE, WED, THU, FRI = day(1), day(2), day(3), day(4)


def whip_kitchen(lots, *, thursday=True, **terms):
    small = (
        SmallKitchen()
        .item("cream")
        .recipe(
            "whip",
            {"cream": 500},
            yields=1_000,
            batch_step=1,
            keeps_days=5,
            caps_use_by=True,
            **terms,
        )
        .cake("big cake", {"whip": 600})
        .cake("small cake", {"whip": 300})
        .plan("A", "big cake", TUE)
    )
    if thursday:
        small.plan("B", "small cake", THU)
    for amount, use_by in lots:
        small.stock("cream", amount, use_by)
    return small


def made(small, **columns):
    kitchen = replace(small.build(), **columns)
    return making_of(kitchen, explode(kitchen, window()))["whip"]


@pytest.mark.parametrize(
    ("lots", "days"),
    [
        # Its 500 g come from what is good until Wednesday: nothing is left by Thursday.
        ([(5_000, WED)], {1: 1_000, 3: 1_000}),
        ([(5_000, THU)], {1: 1_000}),
        ([(5_000, None)], {1: 1_000}),
        ([], {1: 1_000}),  # what is not there caps nothing
        # First in, first out: one gram of Wednesday's is enough.
        ([(1, WED), (5_000, FRI)], {1: 1_000, 3: 1_000}),
        # What was out of date already is not taken.
        ([(5_000, day(0)), (5_000, FRI)], {1: 1_000}),
    ],
)
def test_what_is_left_over_keeps_no_longer_than_the_cream(lots, days):
    assert made(whip_kitchen(lots)) == days


def test_what_does_not_say_so_is_not_capped():
    small = whip_kitchen([(5_000, WED)])
    small.nodes["whip"]["caps_use_by"] = False

    assert made(small) == {1: 1_000}


def test_the_day_is_the_whole_days_use():
    # A second recipe uses 200 g on Tuesday too. Of Wednesday's 100 g the day takes all,
    # whoever of the two got it, so both are capped.
    small = whip_kitchen([(100, WED), (5_000, FRI)])
    small.recipe("custard", {"cream": 200}, yields=1)
    small.cake("tart", {"custard": 1}).plan("C", "tart", TUE)

    assert made(small) == {1: 1_000, 3: 1_000}


def test_a_part_of_a_split_caps_nothing():
    small = (
        SmallKitchen()
        .item("eggs", unit="each")
        .part("egg white", whole="eggs", yields=33, keeps_days=1)
        .recipe(
            "foam",
            {"egg white": 330},
            yields=1_000,
            batch_step=1,
            keeps_days=5,
            caps_use_by=True,
        )
        .cake("big cake", {"foam": 600})
        .cake("small cake", {"foam": 300})
        .plan("A", "big cake", TUE)
        .plan("B", "small cake", THU)
        .stock("eggs", 100, WED)
    )
    kitchen = small.build()

    assert making_of(kitchen, explode(kitchen, window()))["foam"] == {1: 1_000}


def test_a_later_cap_follows_from_an_earlier_one():
    # Tuesday's surplus is gone on Thursday, so Thursday makes whip again, out of what
    # is good until Friday; so Saturday's 300 g cannot come from it either.
    small = whip_kitchen([(500, WED), (500, FRI), (9_000, None)])
    small.plan("C", "small cake", day(5))

    assert made(small) == {1: 1_000, 3: 1_000, 5: 1_000}


def test_what_an_open_order_brings_caps_as_well():
    # 500 g come on Tuesday, usable at once, and keep two days: until Wednesday.
    small = whip_kitchen([])
    kitchen = small.build()
    nodes = kitchen.nodes
    keeps_days = nodes.keeps_days.copy()
    keeps_days[small.index("cream")] = 2
    order = OpenOrderLines(
        ["O-1"], np.array([0]), np.array([0]), np.array([500.0]), [TUE]
    )
    dairy = shelves.supplier("Dairy")

    found = made(
        small,
        nodes=replace(nodes, keeps_days=keeps_days),
        open_orders=order,
        suppliers=(dairy,),
    )

    assert found == {1: 1_000, 3: 1_000}


def test_one_more_cake_moves_a_cap():
    # Without it Tuesday's whip is good until Wednesday, and Thursday makes its own. One
    # more big cake on Monday takes those 500 g; Tuesday's whip then comes from what is
    # good until Friday, and what it leaves over serves Thursday.
    small = whip_kitchen([(500, WED), (5_000, FRI)])
    kitchen, plan_window = small.build(), window()
    explosion = explode(kitchen, plan_window)
    shelf = read_shelf(kitchen, plan_window)

    change = add_one_more(
        explosion,
        plan_window,
        shelf,
        OneMore(cake=small.index("big cake"), quantity=1, size="", due_on=day(0)),
    )

    whole = explode(change.kitchen, plan_window)
    np.testing.assert_array_equal(change.figures.batches, whole.figures.batches)
    assert demand_of(kitchen, explosion) != demand_of(change.kitchen, whole)


@pytest.mark.parametrize("use_by", ["2026-05-06", "2026-05-07"])
def test_the_reference_calculation_makes_the_same(use_by):
    sheets = {
        "Items": [{"item": "cream", "measure": "mass"}],
        "Recipes": [
            {"recipe": "whip", "yields": "1000 g", "batch_step": "1"}
            | {"keeps_days": "5", "caps_use_by": "yes"},
            {"recipe": "big cake", "yields": "1 each", "is_cake": "yes"},
            {"recipe": "small cake", "yields": "1 each", "is_cake": "yes"},
        ],
        "Recipe lines": [
            {"recipe": "whip", "component": "cream", "quantity": "500 g"},
            {"recipe": "big cake", "component": "whip", "quantity": "600 g"},
            {"recipe": "small cake", "component": "whip", "quantity": "300 g"},
        ],
        "Bake plan": [
            {"reference": "A", "due": "2026-05-05", "cake": "big cake"}
            | {"quantity": "1"},
            {"reference": "B", "due": "2026-05-07", "cake": "small cake"}
            | {"quantity": "1"},
        ],
        "Stock": [{"item": "cream", "quantity": "5 kg", "use_by": use_by}],
    }

    found = by_hand.plan(sheets, at=datetime(2026, 5, 4, 12, tzinfo=UTC), days=7)

    whip = [row["date"] for row in found["making"] if row["recipe"] == "whip"]
    twice = ["2026-05-05", "2026-05-07"]
    assert whip == (twice if use_by == "2026-05-06" else twice[:1])
