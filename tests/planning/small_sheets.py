"""The sheets of a small whole kitchen, to be changed and loaded."""

from datetime import date

import pytest

from planning.interchange.errors import KitchenFaultsError
from planning.interchange.loading import load_kitchen
from tests.build import NOON


def a_kitchen(**changes):
    """A small whole kitchen; a change replaces or adds the rows of a sheet."""
    kitchen = {
        "Settings": [{"setting": "bakery", "value": "Larch Lane"}],
        "Places": [{"place": "cooler", "walk_order": 1}],
        "Items": [
            {"item": "butter", "measure": "mass", "par": "2 case", "place": "cooler"},
            {"item": "eggs", "measure": "count", "par": ""},
        ],
        "Splits": [{"whole": "eggs", "part": "egg white", "yields": "33 g"}],
        "Suppliers": [
            {
                "supplier": "Dairy",
                "delivery_days": "Tue",
                "cutoff_days": 1,
                "cutoff_time": "14:00",
            }
        ],
        "Packs": [
            {
                "supplier": "Dairy",
                "item": "butter",
                "pack": "case 36 x 1 lb",
                "called": "case",
                "holds": "36 lb",
                "price": 130,
            }
        ],
        "Recipes": [
            {"recipe": "butter cake", "yields": "1 each", "is_cake": "yes"},
            {"recipe": "buttercream", "yields": "2 kg", "is_cake": ""},
        ],
        "Recipe lines": [
            {"recipe": "butter cake", "component": "buttercream", "quantity": "500 g"},
            {"recipe": "buttercream", "component": "butter", "quantity": "0.1 case"},
            {"recipe": "buttercream", "component": "egg white", "quantity": "8 each"},
        ],
        "Bake plan": [
            {
                "reference": "A-1",
                "due": "2026-05-09",
                "cake": "Butter Cake",
                "quantity": 1,
            }
        ],
        "Stock": [
            {"item": "butter", "quantity": "1 case + 2 lb", "place": "cooler"},
            {"item": "buttercream", "quantity": "1 kg", "place": ""},
        ],
        "Open orders": [
            {
                "order": "D-7",
                "supplier": "Dairy",
                "item": "butter",
                "pack": "case 36 x 1 lb",
                "packs": 2,
                "due": date(2026, 5, 12),
            }
        ],
    }
    return kitchen | {name.replace("_", " "): rows for name, rows in changes.items()}


def changed(sheet, row, **cells):
    """The kitchen with some cells of one row changed; rows count from 2."""
    rows = [dict(each) for each in a_kitchen()[sheet]]
    rows[row - 2] |= cells
    return a_kitchen(**{sheet: rows})


def faults_of(kitchen):
    with pytest.raises(KitchenFaultsError) as error:
        load_kitchen(kitchen, at=NOON)
    return [str(fault) for fault in error.value.faults]
