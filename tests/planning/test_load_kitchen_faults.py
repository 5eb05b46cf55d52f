"""Everything in a file is stored or nothing is, and every faulty cell is named."""

import pytest

from planning.interchange.loading import load_kitchen
from planning.models import PlannedCake, Recipe, RecipeLine
from stock.models import Bakery, Item, Movement, Pack, Place, Supplier
from tests.build import NOON
from tests.planning.small_sheets import a_kitchen, changed, faults_of

pytestmark = pytest.mark.django_db

TABLES = [Bakery, Place, Item, Supplier, Pack, Recipe, RecipeLine, PlannedCake]


def test_every_faulty_cell_is_named_in_the_order_of_the_sheets_and_nothing_is_stored():
    before = [table.objects.count() for table in TABLES]
    kitchen = a_kitchen(
        Bake_plan=[
            {"reference": "A", "due": "2026-02-30", "cake": "butter cake"},
            {"reference": "B", "due": "2026-05-09", "cake": "butter cak"},
        ],
        Recipes=[
            {"recipe": "butter cake", "yields": "1 each", "is_cake": "yes"},
            {"recipe": "buttercream", "yields": "0 g", "loss_percent": 100},
        ],
        Places=[{"walk_order": "first", "place": "cooler"}],
    )

    faults = faults_of(kitchen)

    assert [fault.partition(": ")[0] for fault in faults] == [
        "Places!A2",
        "Recipes!B3",
        "Recipes!D3",
        "Bake plan!A1",
        "Bake plan!B2",
        "Bake plan!C3",
    ]
    assert faults[3].startswith('Bake plan!A1: There is no column "quantity".')
    assert faults[4] == "Bake plan!B2: There is no 2026-02-30 in the calendar."
    assert faults[5].endswith(
        'There is no cake "butter cak". Did you mean butter cake?'
    )
    assert [table.objects.count() for table in TABLES] == before
    assert not Movement.objects.exists()


@pytest.mark.parametrize(
    ("sheet", "row", "cells", "cell"),
    [
        ("Settings", 2, {"value": ""}, "Settings!B2"),
        ("Places", 2, {"walk_order": -1}, "Places!B2"),
        ("Items", 2, {"measure": "weight"}, "Items!B2"),
        ("Items", 2, {"own_units": "case = 4 blobs"}, "Items!E2"),
        ("Suppliers", 2, {"cutoff_time": "25:00"}, "Suppliers!D2"),
        ("Packs", 2, {"holds": "36 blobs"}, "Packs!E2"),
        ("Packs", 2, {"price": "12,50"}, "Packs!F2"),
        ("Recipes", 3, {"yields": "2 blobs"}, "Recipes!B3"),
    ],
)
def test_one_mistake_is_one_sentence(sheet, row, cells, cell):
    faults = faults_of(changed(sheet, row, **cells))

    assert [fault.partition(": ")[0] for fault in faults] == [cell]


@pytest.mark.parametrize(
    ("sheet", "cells", "fault"),
    [
        (
            "Items",
            {"item": "buttercream", "measure": "mass"},
            "Recipes!A3: The name buttercream is taken, and not by a recipe.",
        ),
        (
            "Splits",
            {"whole": "egg white", "part": "lysozyme", "yields": "1 g"},
            "Splits!A3: Egg white: a part, not a bought item.",
        ),
        (
            "Packs",
            {
                "supplier": "Dairy",
                "item": "buttercream",
                "pack": "tub",
                "holds": "1 kg",
                "price": 9,
            },
            "Packs!B3: Buttercream: a recipe, not a bought item.",
        ),
        (
            "Stock",
            {"item": "BUTTER", "quantity": "1 lb", "place": "Cooler"},
            "Stock!A4: BUTTER, Cooler is in row 2 already.",
        ),
    ],
)
def test_one_row_too_many_is_one_sentence(sheet, cells, fault):
    faults = faults_of(a_kitchen(**{sheet: [*a_kitchen()[sheet], cells]}))

    assert [each[: len(fault)] for each in faults] == [fault]


def test_one_mistake_is_one_sentence_where_the_item_was_there_before():
    load_kitchen(a_kitchen(), at=NOON)
    kitchen = changed("Items", 2, own_units="tub = 4 blobs", par="2 tub")
    kitchen["Recipe lines"][1]["quantity"] = "1 tub"
    kitchen["Stock"][0]["quantity"] = "3 tub"

    faults = faults_of(kitchen)

    assert [fault.partition(": ")[0] for fault in faults] == ["Items!E2"]


@pytest.mark.parametrize(
    ("sheet", "row", "cells", "cell"),
    [
        ("Items", 2, {"par": "2 blobs"}, "Items!C2"),
        ("Recipe lines", 3, {"quantity": "2 blobs"}, "Recipe lines!C3"),
        ("Stock", 2, {"quantity": "2 blobs"}, "Stock!B2"),
        ("Open orders", 2, {"pack": "case"}, "Open orders!D2"),
    ],
)
def test_a_quantity_without_a_meaning_is_named(sheet, row, cells, cell):
    faults = faults_of(changed(sheet, row, **cells))

    assert [fault.partition(": ")[0] for fault in faults] == [cell]


def test_a_quantity_that_cannot_be_read_is_named_beside_its_faulty_pack():
    kitchen = changed("Packs", 2, holds="36 blobs")
    kitchen["Recipe lines"][1]["quantity"] = "0,1 case"
    kitchen["Stock"][0]["quantity"] = "1 case"

    cells = [fault.partition(": ")[0] for fault in faults_of(kitchen)]

    assert cells == ["Packs!E2", "Recipe lines!C3"]


def test_a_row_that_is_there_twice_and_a_recipe_in_itself_are_named():
    kitchen = a_kitchen()
    kitchen["Places"].append({"place": "Cooler"})
    kitchen["Recipe lines"][2] |= {"component": "buttercream", "quantity": "1 kg"}

    faults = faults_of(kitchen)

    assert faults[0] == "Places!A3: Cooler is in row 2 already."
    assert faults[1].startswith("Recipe lines!")
    assert "buttercream -> buttercream" in faults[1]
    assert len(faults) == 2


def test_a_faulty_layout_is_told_with_what_each_cell_says_wrong_for_itself():
    kitchen = a_kitchen(Recipies=[{"recipe": "sponge"}])
    kitchen["Packs"][0] |= {"price": "much", "item": "nobody knows it"}

    assert [fault.partition(": ")[0] for fault in faults_of(kitchen)] == [
        "Recipies!A1",
        "Packs!F2",
    ]
