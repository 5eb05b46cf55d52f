"""The calculator against worked examples whose answers are known elsewhere.

Weeks of the textbook cases are days here; day 1 is in each test.
"""

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from tests.reference.by_hand import plan, read_folder, usual_orders

KITCHENS = Path(__file__).parent / "kitchens"
LB = 453.59237


def made(worked, recipe):
    return {
        date.fromisoformat(row["date"]).day: row["amount"]
        for row in worked["making"]
        if row["recipe"] == recipe
    }


def column(worked, name, item):
    return [row[name] for row in worked["projection"] if row["item"] == item]


def test_shutters_are_released_by_lead_time_and_stock_is_netted_first():
    # Stevenson, shutters. Day 1 is 1 May; the 70 sections due in week 1 are stock.
    sheets = read_folder(KITCHENS / "shutters")

    worked = plan(sheets, at=datetime(2026, 5, 1, 6, tzinfo=UTC))

    assert made(worked, "Shutter") == {3: 100, 7: 150}
    assert made(worked, "Frame") == {1: 200, 5: 300}
    assert made(worked, "Wood section") == {2: 330, 6: 600}
    assert [(row["date"][-2:], row["amount"]) for row in worked["demand"]] == [
        ("01", 200),
        ("02", 330),
        ("05", 300),
        ("06", 600),
    ]


def test_chair_seats_run_out_in_week_4_and_must_be_ordered_in_week_2():
    # Krajewski, chair seat. Day 1 is 4 May; the lot due in week 1 is an open order.
    sheets = read_folder(KITCHENS / "chair_seat")

    worked = plan(sheets, at=datetime(2026, 5, 4, 6, tzinfo=UTC), days=8)

    # 117 117 117, then 117 - 120 = -3, -3, -153, -273, -273
    closing = [117, 117, 117, -3, -3, -153, -273, -273]
    assert column(worked, "closing", "Seat") == closing
    (short,) = worked["shortfalls"]
    assert (short["kind"], short["first_date"], short["short_by"]) == (
        "out",
        "2026-05-07",
        273,
    )
    assert short["cakes"] == ["week 4", "week 6", "week 7"]
    assert short["remedy"]["order_by"] == "2026-05-05T12:00:00+00:00"


def test_chair_seats_with_the_textbook_receipts_stand_as_printed():
    sheets = read_folder(KITCHENS / "chair_seat")
    (first,) = sheets["Open orders"]
    for order, due in [("second", "2026-05-07"), ("third", "2026-05-10")]:
        sheets["Open orders"].append({**first, "order": order, "due": due})

    worked = plan(sheets, at=datetime(2026, 5, 4, 6, tzinfo=UTC), days=8)

    closing = [117, 117, 117, 227, 227, 77, 187, 187]
    assert column(worked, "closing", "Seat") == closing
    assert worked["shortfalls"] == []


def test_lot_for_lot_releases_two_weeks_ahead_of_what_stock_does_not_cover():
    # Week 1 is 4 May. 120 cover 41 + 44 and 35 of the 84 in week 3.
    sheets = read_folder(KITCHENS / "lot_for_lot")

    worked = plan(sheets, at=datetime(2026, 5, 4, 6, tzinfo=UTC))

    weeks = {day - 3: amount for day, amount in made(worked, "Layer").items()}
    assert weeks == {1: 49, 2: 42, 3: 84, 4: 86, 5: 7, 6: 18, 7: 49, 8: 30}


def test_lemon_batter_as_worked_out_in_the_reference_table():
    sheets = read_folder(KITCHENS / "lemon_batter")

    worked = plan(sheets, at=datetime(2026, 5, 4, 6, tzinfo=UTC))

    batter = next(row for row in worked["making"] if row["recipe"] == "Lemon batter")
    # 13 500 / 0.96 = 14 062.5 = 1.7578125 x 8 000
    assert (batter["batches"], batter["amount"]) == (pytest.approx(1.7578125), 14062.5)
    amounts = {row["item"]: row["amount"] for row in worked["demand"]}
    assert amounts == pytest.approx(
        {
            "Flour": 3515.625,
            "Sugar": 3867.1875,
            "Butter": 2109.375,
            "Egg": 1933.59375 / 50,  # 38.67
            "Milk": 2460.9375,
            "Lemon": 105.46875 / 6,  # 17.58
            "Leavening": 70.3125,
        },
        abs=1e-6,
    )


def test_lemon_batter_by_half_batches_is_two_batches():
    sheets = read_folder(KITCHENS / "lemon_batter")
    sheets["Recipes"][0]["batch_step"] = "0.5"

    worked = plan(sheets, at=datetime(2026, 5, 4, 6, tzinfo=UTC))

    batter = next(row for row in worked["making"] if row["recipe"] == "Lemon batter")
    # 2 x 8 000 x 0.96 - 13 500 = 1 860
    assert (batter["batches"], batter["surplus"]) == (2, 1860)


def test_lemon_batter_is_bought_in_whole_packs_after_stock_and_safety():
    sheets = read_folder(KITCHENS / "lemon_batter")
    moment = datetime(2026, 5, 4, 6, tzinfo=UTC)

    loose = usual_orders(sheets, at=moment)
    sheets["Packs"].pop()  # the case may not be split
    by_case = usual_orders(sheets, at=moment)

    # Flour 3 315.625 g is 7.31 lb of a 50 lb bag; butter 1 428.986 g is 3.15 lb.
    bought = {row["item"]: row["packs"] for row in loose["orders"][0]["lines"]}
    assert bought == {"Flour": 1, "Butter": 4}
    bought = {row["item"]: row["packs"] for row in by_case["orders"][0]["lines"]}
    assert bought == {"Flour": 1, "Butter": 1}


def test_a_lot_past_its_date_is_thrown_out_and_the_earliest_date_goes_first():
    sheets = read_folder(KITCHENS / "three_lots")

    worked = plan(sheets, at=datetime(2026, 5, 10, 6, tzinfo=UTC), days=4)

    # 10 May: 36 on the shelf, B's 6 out, 12 used (A 10, C 2); C keeps 18 to the end.
    lb = {
        name: [value / LB for value in column(worked, name, "Butter")]
        for name in ("opening", "used", "expired", "closing")
    }
    assert lb["opening"] == pytest.approx([36, 18, 18, 18], abs=1e-6)
    assert lb["used"] == pytest.approx([12, 0, 0, 0], abs=1e-6)
    assert lb["expired"] == pytest.approx([6, 0, 0, 0], abs=1e-6)
    assert lb["closing"] == pytest.approx([18, 18, 18, 18], abs=1e-6)
    assert worked["shortfalls"] == []


@pytest.mark.parametrize(
    ("hour", "minute", "remedy"),
    [
        (13, 59, "2026-05-05"),
        (14, 0, "2026-05-05"),
        (14, 1, None),
        (15, 10, None),
    ],
)
def test_the_last_useful_delivery_is_the_tuesday_before_thursday(hour, minute, remedy):
    sheets = read_folder(KITCHENS / "cut_off")
    moment = datetime(2026, 5, 4, hour, minute, tzinfo=UTC)

    (short,) = plan(sheets, at=moment)["shortfalls"]

    assert (short["kind"], short["first_date"]) == ("out", "2026-05-07")
    assert (short["remedy"] and short["remedy"]["deliver_on"]) == remedy
