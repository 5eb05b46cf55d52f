from functools import partial

import pytest

from planning.recipes.recipe_lines import keep_recipe_lines
from planning.recipes.recipes import keep_recipes
from stock.conversion.converters import converters_for
from stock.entry.entries import Change
from stock.items.items import (
    item_entries,
    keep_items,
    retire_item,
    unretire_item,
)
from stock.items.parts import keep_splits
from stock.models import Item
from stock.suppliers.packs import keep_packs
from tests import build, faults

pytestmark = pytest.mark.django_db

BUTTER = {
    "item": "butter",
    "measure": "mass",
    "equivalents": "1 cup = 227 g",
    "own_units": "stick = 4 oz",
}
STICK_G = 113.3980925  # 4 oz of 28.349523125 g

faults_of = partial(faults.of, keep_items)


def test_an_item_is_stored_with_its_levels_in_its_base_unit():
    build.place("walk-in")

    keep_items([BUTTER | {"par": "3 stick", "safety": "1 cup", "place": "WALK-IN"}])

    butter = Item.objects.get()
    assert butter.kind == "ingredient"
    assert butter.par_base == pytest.approx(3 * STICK_G)
    assert butter.safety_base == pytest.approx(227)
    assert butter.place.name == "walk-in"


def test_the_same_item_again_changes_nothing():
    entries = [BUTTER | {"par": "3 stick", "keeps_days": 60}]
    keep_items(entries)

    kept = keep_items(entries)

    assert (kept.added, kept.changed, kept.unchanged) == ((), (), 1)


def test_a_new_item_needs_its_measure():
    assert faults_of([{"item": "butter"}]) == {
        (1, "measure"): "Butter is new here. “Measure” must not stay blank."
    }


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("equivalents", "1 cup = 2 pint", "neither side is"),
        ("equivalents", "1 cup", "write two sides"),
        ("own_units", "pound = 4 oz", "already means the unit lb"),
        ("own_units", "stick = 4 each", "nothing says what 1 each of it comes to"),
        ("own_units", "stick = ", "empty"),
        ("own_units", "box = 12/32 oz", "12 x 32 oz or ⅜ oz"),
        ("own_units", "box = 6/5 lb", "6 x 5 lb or 1.2 lb"),
        ("own_units", "stick = 4 oz; box = 4/5 lb", "4 x 5 lb or ⅘ lb"),
        ("equivalents", "1 each = 12/32 oz", "12 x 32 oz or ⅜ oz"),
        ("equivalents", "4/5 lb = 1 each", "4 x 5 lb or ⅘ lb"),
        ("par", "12", "12 has no unit"),
        ("par", "2 tub", '"tub" isn\'t a unit of'),
        ("par", "6/5 lb", "6 x 5 lb or 1.2 lb"),
        ("safety", "12/32 oz", "12 x 32 oz or ⅜ oz"),
        ("par", "2 st", "Did you mean 2 sticks?"),
        ("safety", "-1 lb", "cannot be negative"),
        ("safety", "1,5 lb", "1.5"),
        ("kind", "cake", "ingredient or packaging"),
        ("measure", "weight", "mass, volume or count"),
        ("keeps_days", "0", "1 or more"),
        ("place", "walkin", "Did you mean walk-in?"),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(column, value, words):
    build.place("walk-in")

    faults = faults_of([BUTTER | {column: value}])

    assert list(faults) == [(1, column)]
    assert words in faults[1, column]
    assert not Item.objects.exists()


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("own_units", "stick = 3/4 lb"),
        ("own_units", "stick = 1 1/5 lb"),
        ("own_units", "box = 12 x 32 oz"),
        ("equivalents", "1 each = 1/16 oz"),
        ("equivalents", "1 cup = 2/3 lb"),
    ],
)
def test_a_kitchen_s_fraction_in_an_item_s_measures_is_one(column, value):
    keep_items([BUTTER | {column: value}])

    assert getattr(Item.objects.get(), column) == value


def test_measures_that_were_stored_as_a_pack_s_fraction_are_not_asked_about_again():
    item = build.item("butter", own_units="box = 12/32 oz", par="")

    keep_items([{"item": "butter", "equivalents": "1 cup = 227 g"}])

    item.refresh_from_db()
    assert (item.own_units, item.equivalents) == ("box = 12/32 oz", "1 cup = 227 g")


def test_a_pint_of_berries_is_what_it_weighs():
    # USDA SR28, NDB 09302: a pint of raspberries as purchased 312 g, a cup 123 g.
    keep_items(
        [
            {
                "item": "raspberries",
                "measure": "mass",
                "equivalents": "1 cup = 123 g",
                "own_units": "pint = 312 g",
                "par": "6 pt",
            }
        ]
    )

    item = Item.objects.get()
    known = converters_for([item.pk])[item.pk]
    assert item.par_base == 6 * 312
    assert known.to_base("2 pints") == 624
    assert known.to_base("1 quart") == 492  # through the cup, as ever
    assert known.replaced_base_by_unit == {"pint": 246}


def test_taking_away_a_word_that_a_recipe_uses_is_refused_and_named():
    keep_items([BUTTER | {"par": "2 lb"}])
    keep_recipes([{"recipe": "shortbread", "yields": "2 kg"}])
    keep_recipe_lines(
        [{"recipe": "shortbread", "component": "butter", "quantity": "5 stick"}]
    )

    faults = faults_of([{"item": "butter", "own_units": ""}])

    assert faults[1, "own_units"].startswith(
        "1 recipe measures butter in a way that would be lost: shortbread (5 stick)."
    )
    assert Item.objects.get(name="butter").own_units == "stick = 4 oz"


def test_a_new_name_that_a_recipe_would_lose_is_refused_and_named():
    keep_items([{"item": "eggs", "measure": "count"}])
    keep_recipes([{"recipe": "shortbread", "yields": "2 kg"}])
    keep_recipe_lines(
        [{"recipe": "shortbread", "component": "eggs", "quantity": "2 dozen eggs"}]
    )
    eggs = Item.objects.get(name="eggs")

    keep_items([{"item": "shell eggs"}], ids=[eggs.pk])
    faults = faults_of([{"item": "hens' best"}], ids=[eggs.pk])

    assert "shortbread (2 dozen eggs)" in faults[1, "item"]
    assert Item.objects.get(pk=eggs.pk).name == "shell eggs"


def test_taking_away_a_word_that_the_items_own_par_uses_is_refused():
    keep_items([BUTTER | {"par": "3 stick"}])

    faults = faults_of([{"item": "butter", "own_units": ""}])

    assert faults[1, "own_units"].startswith("The par of butter is 3 stick.")


def test_a_word_and_what_is_typed_in_it_may_change_together():
    keep_items([BUTTER | {"par": "3 stick"}])

    keep_items([{"item": "butter", "own_units": "bar = 1 lb", "par": "2 bar"}])

    assert Item.objects.get().par_base == pytest.approx(2 * 453.59237)


def test_a_heavier_cup_makes_all_that_is_typed_in_cups_heavier():
    keep_items([BUTTER | {"par": "2 cup"}, {"item": "eggs", "measure": "count"}])
    mill = build.supplier("Mill")
    keep_packs(
        [
            {
                "supplier": "Mill",
                "item": "butter",
                "pack": "tub",
                "holds": "4 cup",
                "price": "9",
            }
        ]
    )
    keep_recipes([{"recipe": "shortbread", "yields": "2 kg"}])
    keep_recipe_lines(
        [{"recipe": "shortbread", "component": "butter", "quantity": "3 cup"}]
    )

    keep_items([{"item": "butter", "equivalents": "1 cup = 230 g"}])

    butter = Item.objects.get(name="butter")
    assert butter.par_base == pytest.approx(460)
    assert mill.packs.get().size_base == pytest.approx(920)
    assert butter.used_in.get().quantity_base == pytest.approx(690)


def test_a_whole_must_stay_countable_for_its_parts():
    keep_items([{"item": "lemon", "measure": "mass", "equivalents": "1 each = 60 g"}])
    keep_splits([{"whole": "lemon", "part": "lemon zest", "yields": "6 g"}])

    faults = faults_of([{"item": "lemon", "equivalents": ""}])

    assert "lemon zest" in faults[1, "equivalents"]


def test_the_measure_cannot_change_once_there_are_movements():
    milk = build.item("milk", measure="volume", on_hand_base=1_000)

    faults = faults_of([{"item": "milk", "measure": "mass"}])

    assert faults[1, "measure"].startswith("Milk: on the shelf by volume")
    milk.refresh_from_db()
    assert milk.measure == "volume"


def test_the_measure_may_change_before_anything_moved():
    keep_items([{"item": "milk", "measure": "volume", "par": "2 L"}])

    keep_items([{"item": "milk", "measure": "mass", "par": "2 kg"}])

    assert Item.objects.get().par_base == pytest.approx(2_000)


def test_a_part_and_a_recipe_are_no_items_of_this_sheet():
    eggs = build.item("eggs", measure="count")
    build.part("egg white", whole=eggs, yields_base=33)
    build.recipe("curd")

    faults = faults_of(
        [
            {"item": "Egg White", "measure": "mass"},
            {"item": "curd", "measure": "mass"},
        ],
    )

    assert faults[1, "item"].startswith("Egg white: a part of something here.")
    assert faults[2, "item"].startswith("Curd: a recipe here.")


def test_an_item_is_renamed_but_not_to_a_name_that_is_taken():
    keep_items([BUTTER])
    build.recipe("curd")
    butter = Item.objects.get(name="butter")

    kept = keep_items([{"item": "unsalted butter"}], ids=[butter.pk])
    assert kept.changed == (
        Change("unsalted butter", "item", "butter", "unsalted butter"),
    )

    assert faults_of([{"item": "CURD"}], ids=[butter.pk]) == {
        (1, "item"): "CURD already exists."
    }


def test_an_item_is_retired_and_brought_back():
    butter = build.item("butter")

    retire_item(butter.pk)
    assert Item.objects.get().retired

    unretire_item(butter.pk)
    assert not Item.objects.get().retired


def test_what_is_stored_comes_back_as_entries_that_change_nothing():
    build.place("walk-in")
    keep_items([BUTTER | {"par": "3 stick", "place": "walk-in", "allergens": "milk"}])
    build.recipe("curd")

    entries = item_entries()

    assert [entry["item"] for entry in entries] == ["butter"]
    assert keep_items(entries).unchanged == 1


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    def entries(word, count):
        return [BUTTER | {"item": f"{word} {n}", "par": "1 lb"} for n in range(count)]

    with django_assert_num_queries(10):
        keep_items(entries("few", 2))
    with django_assert_num_queries(10):
        keep_items(entries("many", 40))
