"""The explosion against figures worked out elsewhere; weeks of a book are days here.

The source stands beside each figure: where its inputs were read, and that the answer
is recomputed from them.
"""

import math

import pytest

from planning.engine.demand.explosion import explode
from planning.engine.kitchen import Scale
from tests.engine.small_kitchen import (
    SmallKitchen,
    day,
    demand_of,
    making_of,
    window,
)

GRAMS_PER_POUND = 453.59237  # 16 CFR 500.19
CLOSE = {"rel": 1e-9}


def exploded(small):
    kitchen = small.build()
    return kitchen, explode(kitchen, window())


def test_shutters_of_frames_and_sections():
    # C-38. Stevenson, shutter example, problem text seen second-hand: 100 needed in
    # week 4 and 150 in week 8; each is 2 frames and 4 sections; lead times 1, 2 and 1;
    # 70 sections are there. Lot for lot. Releases recomputed.
    small = SmallKitchen().item("wood", "each").item("slat", "each")
    small.recipe("frame", {"wood": 1.0}, unit="each", lead_days=2)
    small.recipe("section", {"slat": 1.0}, unit="each", lead_days=1)
    small.cake("shutter", {"frame": 2.0, "section": 4.0}, lead_days=1)
    small.plan("week 4", "shutter", day(4), 100)
    small.plan("week 8", "shutter", day(8), 150)
    small.stock("section", 70.0, use_by=day(99))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion) == {
        "shutter": {3: 100.0, 7: 150.0},
        "frame": {1: 200.0, 5: 300.0},
        "section": {2: 330.0, 6: 600.0},
    }


def test_chair_seats_in_lots_of_230():
    # C-39. Krajewski, chair-seat record, inputs seen second-hand: gross 150, 0, 0,
    # 120, 0, 150, 120, 0; 37 on hand and 230 due in week 1; lot 230; lead time 2.
    # Records recomputed. What is due in week 1 stands here as being on hand.
    gross = [150, 0, 0, 120, 0, 150, 120, 0]
    small = SmallKitchen().item("wood", "each")
    small.recipe(
        "seat", {"wood": 1.0}, yields=230.0, batch_step=1.0, unit="each", lead_days=2
    )
    small.cake("chair", {"seat": 1.0})
    for week, quantity in enumerate(gross, start=1):
        small.plan(f"week {week}", "chair", day(week), quantity)
    small.stock("seat", 37.0 + 230.0, use_by=day(99))

    kitchen, explosion = exploded(small)

    released = making_of(kitchen, explosion)["seat"]
    assert released == {2: 230.0, 5: 230.0}
    on_hand, projected = 267.0, []
    for week, quantity in enumerate(gross, start=1):
        on_hand += released.get(week - 2, 0.0) - quantity
        projected.append(on_hand)
    assert projected == [117, 117, 117, 227, 227, 77, 187, 187]


def test_ten_weeks_lot_for_lot():
    # C-40. Exercise, inputs seen second-hand: 120 on hand, lead time 2, demand of
    # weeks 1 to 10. Net needs recomputed: 49@3, 42@4, 84@5 ... released two before.
    gross = [41, 44, 84, 42, 84, 86, 7, 18, 49, 30]
    small = SmallKitchen().item("steel")
    small.recipe("piece", {"steel": 1.0}, lead_days=2)
    small.cake("product", {"piece": 1.0})
    for week, quantity in enumerate(gross, start=1):
        small.plan(f"week {week}", "product", day(week), quantity)
    small.stock("piece", 120.0, use_by=day(99))

    kitchen, explosion = exploded(small)

    assert making_of(kitchen, explosion)["piece"] == {
        1: 49.0, 2: 42.0, 3: 84.0, 4: 86.0, 5: 7.0, 6: 18.0, 7: 49.0, 8: 30.0,
    }  # fmt: skip


def lemon_kitchen(**terms):
    """C-62, our own figures: the batch formula of 8,000 g, with 50 g to an egg.

    Zest comes from lemons that yield 6 g each.
    """
    small = SmallKitchen().item("lemon", "each").item("egg", "each")
    for name in ("flour", "sugar", "butter", "milk", "leavening"):
        small.item(name)
    small.part("zest", whole="lemon", yields=6.0)
    small.recipe(
        "lemon batter",
        {
            "flour": 2000.0,
            "sugar": 2200.0,
            "butter": 1200.0,
            "egg": 1100.0 / 50,
            "milk": 1400.0,
            "zest": 60.0,
            "leavening": 40.0,
        },
        yields=8000.0,
        loss=0.04,
        **terms,
    )
    small.cake(
        "lemon cake",
        {"lemon batter": (3 * 600.0, Scale.VOLUME)},
        base_size="8 in round x 3",
    )
    small.plan("six of 8 in", "lemon cake", day(2), 6)
    return small.plan("four of 6 in", "lemon cake", day(2), 4, size="6 in round x 2")


def test_lemon_cakes_of_two_sizes():
    # C-62: 6 x 3 x 600 + 4 x 2 x 337.5 = 13,500 g; / 0.96 = 14,062.5 g to mix,
    # 1.7578125 batches.
    kitchen, explosion = exploded(lemon_kitchen())

    (batter,) = [row for row in explosion.making if row.amount_base > 100]
    assert batter.amount_base == pytest.approx(14_062.5, **CLOSE)
    assert batter.batches == pytest.approx(1.7578125, **CLOSE)
    needed = {name: days[2] for name, days in demand_of(kitchen, explosion).items()}
    assert needed == {
        "flour": pytest.approx(3515.625, **CLOSE),
        "sugar": pytest.approx(3867.1875, **CLOSE),
        "butter": pytest.approx(2109.375, **CLOSE),
        "egg": pytest.approx(1933.59375 / 50, **CLOSE),
        "milk": pytest.approx(2460.9375, **CLOSE),
        "lemon": pytest.approx(105.46875 / 6, **CLOSE),
        "leavening": pytest.approx(70.3125, **CLOSE),
    }
    assert math.ceil(needed["egg"]) == 39
    assert math.ceil(needed["lemon"]) == 18


def test_lemon_batter_in_half_batches():
    # C-62: two batches if half batches are the smallest step.
    _, explosion = exploded(lemon_kitchen(batch_step=0.5))

    (batter,) = [row for row in explosion.making if row.amount_base > 100]
    assert batter.batches == 2.0
    assert batter.surplus_base == pytest.approx(16_000 * 0.96 - 13_500, **CLOSE)


@pytest.mark.parametrize(
    ("name", "on_hand_g", "safety_g", "short_g", "short_lb"),
    [  # C-63, our own figures, on top of C-62
        ("flour", 1200.0, 1000.0, 3315.625, 7.3097),
        ("butter", 3.5 * GRAMS_PER_POUND, 2 * GRAMS_PER_POUND, 1428.986, 3.1504),
    ],
)
def test_what_lemon_cakes_leave_to_buy(name, on_hand_g, safety_g, short_g, short_lb):
    kitchen, explosion = exploded(lemon_kitchen())

    needed_g = demand_of(kitchen, explosion)[name][2]

    net_g = needed_g + safety_g - on_hand_g
    assert net_g == pytest.approx(short_g, abs=5e-4)
    assert net_g / GRAMS_PER_POUND == pytest.approx(short_lb, abs=5e-5)
