"""A kitchen with every cell filled goes out and comes in as the same kitchen."""

from datetime import date, time
from decimal import Decimal

import pytest
from django.db import transaction

from planning.entry.sheets import SHEETS
from planning.interchange.dumping import dump_kitchen
from planning.interchange.loading import load_kitchen
from planning.interchange.reading import read_kitchen
from tests.build import NOON
from tests.planning.round_trip import SETTINGS, cells_out

pytestmark = pytest.mark.django_db


# One row a sheet has every cell filled, in the spelling in which it goes out.
FILLED = {
    "Settings": [
        {"setting": setting, "value": value} for setting, value in SETTINGS.items()
    ],
    "Places": [{"place": "cooler", "walk_order": 10}],
    "Items": [
        {
            "item": "cream",
            "kind": "ingredient",
            "measure": "mass",
            "equivalents": "1 cup = 238 g",
            "own_units": "jug = 2 kg",
            "safety": "1 kg",
            "par": "2 jug",
            "keeps_days": 14,
            "place": "cooler",
            "walk_order": 20,
            "allergens": "milk; soy",
            "minimum_days_left": 7,
            "cold": "yes",
            "opened_keeps_days": 4,
            "frozen_keeps_days": 90,
            "thawed_keeps_days": 2,
            "retired": "yes",
            "weights_from": "01053",
        },
        {"item": "eggs", "kind": "ingredient", "measure": "count"},
        {"item": "oat cream", "kind": "ingredient", "measure": "mass"},
    ],
    "Splits": [
        {"whole": "eggs", "part": "egg white", "yields": "33 g", "keeps_days": 4}
    ],
    "Suppliers": [
        {
            "supplier": "Dairy",
            "kind": "shop",
            "contact": "Rosalind",
            "account": "K-0042",
            "email": "desk@dairy.example",
            "phone": "555 0142",
            "delivery_days": "Tue Fri",
            "cutoff_days": "Tue 4; Fri 2",
            "cutoff_time": time(14),
            "usable": "next day",
            "minimum_order": Decimal(150),
            "delivery_fee": Decimal("12.5"),
            "free_delivery_from": Decimal(400),
            "closed_on": "2026-12-25",
            "retired": "yes",
        }
    ],
    "Packs": [
        {
            "supplier": "Dairy",
            "item": "cream",
            "pack": "crate 6 x 1 kg",
            "called": "crate",
            "code": "0042",
            "holds": "6 kg",
            "price": Decimal("31.2"),
            "minimum_packs": 2,
            "multiple": 2,
            "price_breaks": "10: 30; 20: 29.5",
            "preferred": "yes",
            "gtin": "02345673",
            "next_price": Decimal("33.25"),
            "next_price_from": date(2026, 7, 1),
            "retired": "yes",
        }
    ],
    "Recipes": [
        {
            "recipe": "whipped cream",
            "yields": "2 kg",
            "batch_step": Decimal("0.5"),
            "largest_batch": Decimal(3),
            "loss_percent": Decimal("2.5"),
            "lead_days": 1,
            "keeps_days": 2,
            "holding": "cold",
            "caps_use_by": "yes",
            "retired": "yes",
        },
        {
            "recipe": "Cream cake",
            "yields": "1 each",
            "is_cake": "yes",
            "base_size": "8 in round x 3",
        },
    ],
    "Recipe lines": [
        {
            "recipe": "Cream cake",
            "component": "whipped cream",
            "quantity": "500 g",
            "yield_percent": Decimal("87.5"),
            "scales_with": "filling",
        }
    ],
    "Bake plan": [
        {
            "reference": "2201",
            "due": date(2026, 5, 9),
            "due_time": time(10, 30),
            "cake": "Cream cake",
            "size": "6 in round x 3",
            "quantity": 2,
            "status": "tentative",
            "note": "Two candles",
        }
    ],
    "Stock": [
        {
            "item": "cream",
            "quantity": "1500 g",
            "place": "cooler",
            "use_by": date(2026, 5, 10),
            "lot": "L-7",
        }
    ],
    "Open orders": [
        {
            "order": "PO-7",
            "supplier": "Dairy",
            "item": "cream",
            "pack": "crate 6 x 1 kg",
            "packs": 4,
            "due": date(2026, 5, 8),
            "received_packs": 2,
        }
    ],
    "Substitutes": [
        {
            "item": "cream",
            "substitute": "oat cream",
            "ratio": "3/4 cup for 1 cup",
            "source": "our own trials",
            "note": "Whips softer",
        }
    ],
}


FILLED["Items"][2]["equivalents"] = "1 cup = 230 g"


def test_every_cell_of_the_filled_kitchen_is_filled_in_some_row():
    for sheet in SHEETS:
        filled = {name for row in FILLED[sheet.name] for name in row}
        assert filled == {column.name for column in sheet.columns}, sheet.name
    settings_ = {row["setting"] for row in FILLED["Settings"]}
    assert settings_ == set(SHEETS[0].column("setting").choices)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_cell_goes_out_as_it_came_in(sheet):
    load_kitchen(FILLED, at=NOON)

    keys = [column.name for column in sheet.keys]
    by_key = {tuple(row[key] for key in keys): row for row in cells_out()[sheet.name]}

    for row in FILLED[sheet.name]:
        found = by_key[tuple(row[key] for key in keys)]
        assert {column: found[column] for column in row} == row
    assert len(by_key) == len(FILLED[sheet.name])


@pytest.mark.parametrize("form", ["xlsx", "csv"])
def test_out_in_and_out_gives_the_same_cells_of_everything(form, tmp_path):
    first, second = tmp_path / f"first.{form}", tmp_path / f"second.{form}"

    with transaction.atomic():
        load_kitchen(FILLED, at=NOON)
        before = dump_kitchen(form, first)
        assert load_kitchen(FILLED, at=NOON).changes_nothing
        assert load_kitchen(read_kitchen(first), at=NOON).changes_nothing
        transaction.set_rollback(True)
    load_kitchen(read_kitchen(first), at=NOON)
    after = dump_kitchen(form, second)

    assert before == after
    assert read_kitchen(first) == read_kitchen(second)


def test_a_workbook_without_the_newer_columns_leaves_what_is_stored():
    load_kitchen(FILLED, at=NOON)
    before = cells_out()
    older = {
        "Items": ["item", "kind", "measure", "equivalents", "keeps_days"],
        "Suppliers": ["supplier", "email", "delivery_days", "cutoff_time"],
        "Packs": ["supplier", "item", "pack", "called", "holds", "price", "gtin"],
        "Recipes": ["recipe", "yields", "is_cake", "base_size", "loss_percent"],
        "Open orders": ["order", "supplier", "item", "pack", "packs", "due"],
    }
    # As it is stored now: a recipe row that names no keeps_days does not blank it.
    sheets = {
        sheet: [{name: row[name] for name in names} for row in before[sheet]]
        for sheet, names in older.items()
    }

    report = load_kitchen(sheets, at=NOON)

    assert report.changes_nothing
    assert cells_out() == before
