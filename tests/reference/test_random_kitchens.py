from datetime import UTC, datetime
from random import Random

import pytest

from tests.reference.by_hand import plan, read_folder, usual_orders, write_folder
from tests.reference.random_kitchens import random_sheets

MOMENT = datetime(2026, 5, 4, 6, tzinfo=UTC)
SEEDS = range(30)


def kitchen_of(seed):
    return random_sheets(Random(seed))


@pytest.fixture(scope="module")
def plans():
    return [plan(kitchen_of(seed), at=MOMENT) for seed in SEEDS]


def test_the_same_seed_gives_the_same_kitchen():
    first, second, other = (kitchen_of(seed) for seed in (7, 7, 8))

    assert first == second != other


def test_every_day_adds_up_and_follows_the_day_before(plans):
    for worked in plans:
        closing = {}
        for row in worked["projection"]:
            assert row["opening"] == closing.get(row["item"], row["opening"])
            assert row["closing"] == pytest.approx(
                row["opening"] + row["received"] - row["expired"] - row["used"],
                abs=3e-6,
            )
            closing[row["item"]] = row["closing"]


def test_all_features_turn_up(plans):
    rows = {
        name: [row for worked in plans for row in worked[name]]
        for name in ("demand", "making", "projection", "shortfalls")
    }

    assert {row["kind"] for row in rows["shortfalls"]} == {
        "out",
        "below safety",
        "below par",
    }
    assert {row["remedy"] is None for row in rows["shortfalls"]} == {True, False}
    assert {row["late"] for row in rows["demand"]} == {True, False}
    assert {row["unit"] for row in rows["demand"]} == {"g", "mL", "each"}
    assert any(row["surplus"] for row in rows["making"])
    assert any(row["expired"] for row in rows["projection"])
    assert any(row["received"] for row in rows["projection"])
    warnings = " ".join(sentence for worked in plans for sentence in worked["warnings"])
    for gist in ("left over", "late", "was due", "keeping time", "without a use-by"):
        assert gist in warnings


def test_the_usual_rule_orders_something():
    totals = [
        usual_orders(kitchen_of(seed), at=MOMENT)["totals"]["usual_total"]
        for seed in range(8)
    ]

    assert any(float(total) > 0 for total in totals)


def test_a_kitchen_written_and_read_again_is_the_same(tmp_path):
    sheets = kitchen_of(3)

    write_folder(sheets, tmp_path)

    assert plan(read_folder(tmp_path), at=MOMENT) == plan(sheets, at=MOMENT)
