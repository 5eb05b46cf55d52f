import pytest

from planning.interchange.kitchens import (
    SheetRows,
    keep_kitchen,
    kitchen_entries,
    preview_kitchen,
)
from stock.entry.entries import EntryFaultsError
from stock.models import Item, Movement
from tests import build

pytestmark = pytest.mark.django_db

# A kitchen worked out by hand: the par of butter is typed in the word of a pack, which
# comes two sheets later, and the cake's line in a recipe that takes the butter.
KITCHEN = {
    "Settings": [{"setting": "bakery", "value": "Cake Rooms"}],
    "Places": [{"place": "walk-in"}],
    "Items": [
        {"item": "butter", "measure": "mass", "par": "2 case", "place": "walk-in"},
        {"item": "eggs", "measure": "count"},
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
            "pack": "case 10 x 1 kg",
            "called": "case",
            "holds": "10 kg",
            "price": 90,
        }
    ],
    "Recipes": [
        {"recipe": "buttercream", "yields": "2 kg"},
        {
            "recipe": "cake",
            "yields": "1 each",
            "is_cake": "yes",
            "base_size": "8 in round x 3",
        },
    ],
    "Recipe lines": [
        {"recipe": "buttercream", "component": "butter", "quantity": "0.1 case"},
        {"recipe": "buttercream", "component": "egg white", "quantity": "10 each"},
        {
            "recipe": "cake",
            "component": "buttercream",
            "quantity": "800 g",
            "scales_with": "surface",
        },
    ],
    "Bake plan": [
        {"reference": "1", "due": "2026-05-09", "cake": "cake", "quantity": 2}
    ],
    "Stock": [{"item": "butter", "quantity": "1 case + 500 g"}],
    "Open orders": [
        {
            "order": "7",
            "supplier": "Dairy",
            "item": "butter",
            "pack": "case 10 x 1 kg",
            "packs": 1,
            "due": "2026-05-05",
        }
    ],
}


def sheets(**changes):
    kitchen = KITCHEN | {name.replace("_", " "): rows for name, rows in changes.items()}
    return {name: SheetRows(rows) for name, rows in kitchen.items()}


def faults_of(by_sheet):
    with pytest.raises(EntryFaultsError) as caught:
        keep_kitchen(by_sheet, at=build.NOON)
    return {
        (fault.sheet, fault.row, fault.column): fault.message
        for fault in caught.value.faults
    }


def test_a_whole_kitchen_goes_in_at_once():
    kept = keep_kitchen(sheets(), at=build.NOON)

    butter = Item.objects.get(name="butter")
    assert butter.par_base == 20_000
    assert butter.used_in.get().quantity_base == 1_000
    assert Movement.objects.get().amount_base == 10_500
    assert {name: len(each.added) for name, each in kept.items()} == {
        "Settings": 0,
        "Places": 1,
        "Items": 2,
        "Splits": 1,
        "Suppliers": 1,
        "Packs": 1,
        "Recipes": 2,
        "Recipe lines": 3,
        "Bake plan": 1,
        "Stock": 1,
        "Open orders": 1,
    }


def test_the_same_kitchen_again_changes_nothing():
    keep_kitchen(sheets(), at=build.NOON)

    kept = keep_kitchen(sheets(), at=build.NOON)

    assert all(not (each.added or each.changed) for each in kept.values())


def test_what_comes_out_goes_in_again_and_changes_nothing():
    keep_kitchen(sheets(), at=build.NOON)
    entries = kitchen_entries()

    kept = keep_kitchen(
        {name: SheetRows(rows) for name, rows in entries.items()}, at=build.NOON
    )

    assert all(not (each.added or each.changed) for each in kept.values())
    assert kitchen_entries() == entries


def test_every_fault_of_every_sheet_is_listed_and_nothing_is_stored():
    faults = faults_of(
        sheets(
            Places=[{"place": "walk-in", "walk_order": "first"}],
            Bake_plan=[{"reference": "1", "due": "x", "cake": "cake", "quantity": 0}],
        )
    )

    # The item stands in a place whose own row is faulty: that is one fault, not two.
    assert list(faults) == [
        ("Places", 1, "walk_order"),
        ("Bake plan", 1, "due"),
        ("Bake plan", 1, "quantity"),
    ]
    assert not Item.objects.exists()


def test_a_level_in_a_word_that_no_pack_has_is_the_levels_fault():
    packs = [row | {"called": "box"} for row in KITCHEN["Packs"]]
    lines = KITCHEN["Recipe lines"][1:]
    stock = [{"item": "butter", "quantity": "1 box"}]

    faults = faults_of(sheets(Packs=packs, Recipe_lines=lines, Stock=stock))

    assert list(faults) == [("Items", 1, "par")]


def test_words_and_what_is_typed_in_them_may_change_together():
    keep_kitchen(sheets(), at=build.NOON)

    keep_kitchen(
        {
            "Items": SheetRows([{"item": "butter", "par": "3 box"}]),
            "Packs": SheetRows([KITCHEN["Packs"][0] | {"called": "box"}]),
            "Recipe lines": SheetRows(
                [KITCHEN["Recipe lines"][0] | {"quantity": "0.2 box"}]
            ),
        },
        at=build.NOON,
    )

    butter = Item.objects.get(name="butter")
    assert butter.par_base == 30_000
    assert butter.used_in.get().quantity_base == 2_000


def test_a_preview_says_the_same_and_stores_nothing():
    outcome = preview_kitchen(sheets(), at=build.NOON)
    assert outcome.faults == ()
    assert outcome.kept["Items"].added == ("butter", "eggs")
    assert not Item.objects.exists()

    outcome = preview_kitchen(
        sheets(Splits=[{"whole": "eggs", "part": "egg white"}]), at=build.NOON
    )
    # The line that takes the part is not at fault as well.
    assert [(fault.sheet, fault.column) for fault in outcome.faults] == [
        ("Splits", "yields")
    ]


def test_a_sheet_that_there_is_not_is_a_programmers_mistake():
    with pytest.raises(KeyError, match="no sheet Ovens"):
        keep_kitchen({"Ovens": SheetRows([])}, at=build.NOON)
