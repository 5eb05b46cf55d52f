"""The plan agrees with a calculation made outside the project's code.

`tests/reference` works the same kitchens out in plain fractions, from the definition
of the workbook alone. Both start from the workbook's cells.
"""

import random
import re
from collections import Counter
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from planning.demo import build_sheets, counted_on
from planning.interchange.loading import load_kitchen
from planning.models import Order
from planning.plan.plan_json import plan_as_json
from planning.plan.planner import make_plan
from stock.models import Bakery, Pack
from tests import build
from tests.reference import by_hand
from tests.reference.random_kitchens import random_sheets

KITCHENS = Path(__file__).parents[1] / "reference" / "kitchens"
NAMES = sorted(path.name for path in KITCHENS.iterdir() if path.is_dir())
MONDAY = date(2026, 5, 4)
# Figures of the plan are rounded to 6 places; a ledger of 4 places is taken as given.
TOLERANCE = {"abs": 2e-6, "rel": 1e-9}
PARTS = ("demand", "making", "projection", "shortfalls")

pytestmark = pytest.mark.django_db


def assert_same(found: dict, expected: dict) -> None:
    for heading in ("from", "to", "currency"):
        assert found[heading] == expected[heading]
    for part in PARTS:
        assert_same_rows(part, found[part], expected[part])
    assert left_over(
        found["warnings"], r"(?P<part>.+): use or freeze .* on (.+)\."
    ) == (left_over(expected["warnings"], r".* of (?P<part>.+) is left over on (.+)"))


def left_over(warnings: list[str], pattern: str) -> Counter[str]:
    """On how many days a warning speaks of what is left over, by part."""
    found = [re.fullmatch(pattern, sentence) for sentence in warnings]
    return Counter(match["part"].casefold() for match in found if match)


def assert_same_rows(part: str, found: list, expected: list) -> None:
    for position, (mine, theirs) in enumerate(zip(found, expected, strict=False)):
        assert set(mine) == set(theirs)
        for field, value in theirs.items():
            where = f"{part}[{position}].{field}: {mine} is not {theirs}"
            if isinstance(value, float | int) and not isinstance(value, bool):
                assert mine[field] == pytest.approx(value, **TOLERANCE), where
            else:
                assert mine[field] == value, where
    assert len(found) == len(expected), part


def both_plans(sheets, *, at: datetime, **window) -> tuple[dict, dict]:
    load_kitchen(sheets, at=at - timedelta(days=1))
    planned = make_plan(bakery=Bakery.objects.get(), as_of=at, **window)
    found = plan_as_json(planned)
    if "from_on" in window:
        window["from_date"] = window.pop("from_on")
    return found, by_hand.plan(sheets, at=at, ledger_places=4, **window)


def noon_of(sheets, day: date = MONDAY) -> datetime:
    zone = next(
        (row["value"] for row in sheets["Settings"] if row["setting"] == "time_zone"),
        "UTC",
    )
    return datetime(day.year, day.month, day.day, 12, tzinfo=ZoneInfo(zone))


def first_due_on(sheets) -> date:
    return min(date.fromisoformat(row["due"]) for row in sheets["Bake plan"])


@pytest.mark.parametrize("days_before", [0, 1, 3])
@pytest.mark.parametrize("name", NAMES)
def test_kitchens_made_by_hand(name, days_before):
    sheets = by_hand.read_folder(KITCHENS / name)
    day = first_due_on(sheets) - timedelta(days=days_before)

    found, expected = both_plans(sheets, at=noon_of(sheets, day))

    assert expected["making"]
    assert_same(found, expected)


@pytest.mark.parametrize("name", ["three_levels", "wedding_season"])
def test_without_tentative_cakes_and_from_another_day(name):
    sheets = by_hand.read_folder(KITCHENS / name)
    day = first_due_on(sheets)

    found, expected = both_plans(
        sheets,
        at=noon_of(sheets, day - timedelta(days=3)),
        from_on=day + timedelta(days=1),
        days=9,
        tentative=False,
    )

    assert expected["making"]
    assert_same(found, expected)


@pytest.mark.parametrize("seed", range(40))
def test_random_kitchens(seed):
    sheets = random_sheets(random.Random(seed), size=4 + seed % 8)

    found, expected = both_plans(sheets, at=noon_of(sheets))

    assert_same(found, expected)


@pytest.mark.parametrize("seed", range(40))
def test_random_kitchens_by_the_usual_rule(seed):
    sheets = random_sheets(random.Random(seed), size=4 + seed % 8)
    for row in sheets["Suppliers"]:
        row["minimum_order"] = ""  # how it is met is told by tests of its own
    if seed % 3 == 0:
        sheets["Suppliers"][-1]["kind"] = "shop"
    at = noon_of(sheets)
    load_kitchen(sheets, at=at - timedelta(days=1))
    planned = make_plan(bakery=Bakery.objects.get(), as_of=at)

    found = plan_as_json(planned)

    expected = by_hand.usual_orders(sheets, at=at, ledger_places=4)
    assert [bare(order) for order in found["orders"]] == expected["orders"]
    assert found["totals"]["usual_total"] == expected["totals"]["usual_total"]


@pytest.mark.parametrize("seed", range(30))
def test_random_kitchens_with_orders_that_were_decided_on(seed):
    rng = random.Random(seed)
    sheets = random_sheets(rng, size=4 + seed % 8)
    for row in sheets["Suppliers"]:
        row["minimum_order"] = ""
    at = noon_of(sheets)
    load_kitchen(sheets, at=at - timedelta(days=1))
    sheets["Decided orders"] = decided_on(rng, at)

    planned = make_plan(bakery=Bakery.objects.get(), as_of=at)

    found = plan_as_json(planned)
    expected = by_hand.usual_orders(sheets, at=at, ledger_places=4)
    assert [bare(order) for order in found["orders"]] == expected["orders"]
    assert_same(found, by_hand.plan(sheets, at=at, ledger_places=4))


def decided_on(rng: random.Random, at: datetime) -> list[dict[str, str]]:
    """Approve orders on some days, and return their lines as the reference reads them.

    Some can come, some are for other days, too late for their cut-off, or for later.
    """
    packs = list(Pack.objects.select_related("supplier", "item").order_by("pk"))
    rows = []
    for number in range(min(len(packs), 6)):
        pack = packs.pop(rng.randrange(len(packs)))
        on = at.date() + timedelta(days=rng.choice([0, 1, 2, 3, 4, 5, 6, 7, 9, 30]))
        count = pack.multiple * rng.randint(pack.minimum_packs, 9)
        state = rng.choice([Order.State.APPROVED, Order.State.DRAFT])
        build.order(
            pack.supplier,
            reference=f"decided {number}",
            deliver_on=on,
            state=state,
            changed_by_hand=state == Order.State.DRAFT,
            lines=[(pack, count)],
        )
        rows.append(
            {
                "supplier": pack.supplier.name,
                "item": pack.item.name,
                "pack": pack.label,
                "packs": str(count),
                "deliver_on": on.isoformat(),
            }
        )
    return rows


def bare(order: dict) -> dict:
    """A row of the orders, without its reasons."""
    keys = ("item", "code", "pack", "packs", "price", "amount")
    lines = [{key: line[key] for key in keys} for line in order["lines"]]
    return {**order, "lines": lines}


def test_the_demo_kitchen():
    sheets = build_sheets(MONDAY)
    at = noon_of(sheets)
    counted_at = datetime.combine(counted_on(MONDAY), at.timetz())
    load_kitchen(sheets, at=counted_at)

    planned = make_plan(bakery=Bakery.objects.get(), as_of=at)

    found = plan_as_json(planned)
    assert_same(found, by_hand.plan(as_cells(sheets), at=at, ledger_places=4))


def as_cells(sheets) -> dict[str, list[dict[str, str]]]:
    """The text of each cell, as a folder of CSV files holds it."""
    return {
        name: [
            {
                column: "" if value is None else str(value)
                for column, value in row.items()
            }
            for row in rows
        ]
        for name, rows in sheets.items()
    }
