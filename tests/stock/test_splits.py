from functools import partial

import pytest

from stock.conversion.converters import converters_for
from stock.items.items import keep_items
from stock.items.parts import keep_splits, split_entries
from stock.models import Item
from tests import build, faults

pytestmark = pytest.mark.django_db

WHITE = {"whole": "eggs", "part": "egg white", "yields": "33 g"}


@pytest.fixture
def eggs():
    return build.item("eggs", measure="count")


faults_of = partial(faults.of, keep_splits)


def test_a_part_is_an_item_measured_in_what_it_yields(eggs):
    keep_splits([WHITE])

    white = Item.objects.get(kind="part")
    assert (white.whole, white.measure, white.keeps_days) == (eggs, "mass", 1)
    assert white.part_yields_base == 33


def test_each_of_a_part_is_what_one_whole_yields(eggs):
    keep_splits([WHITE])

    white = Item.objects.get(kind="part")
    assert converters_for([white.pk])[white.pk].to_base("4 each") == 132


def test_of_a_whole_that_is_weighed_a_part_is_stored_by_the_gram():
    keep_items([{"item": "lemon", "measure": "mass", "equivalents": "1 each = 60 g"}])

    keep_splits([{"whole": "lemon", "part": "zest", "yields": "6 g"}])

    zest = Item.objects.get(name="zest")
    assert zest.part_yields_base == pytest.approx(6 / 60)
    assert converters_for([zest.pk])[zest.pk].to_base("2 each") == 12


def test_the_same_part_again_changes_nothing(eggs):
    keep_splits([WHITE])

    assert keep_splits([WHITE]).unchanged == 1


@pytest.mark.parametrize(
    ("column", "value", "words"),
    [
        ("whole", "eggz", "Did you mean eggs?"),
        ("whole", "flour", "Flour must be countable in each."),
        ("whole", "curd", "Curd: not bought."),
        ("part", "flour", "Flour: exists already and isn't a part."),
        ("part", "curd", "Curd: exists already and isn't a part."),
        ("yields", "0 g", "must yield more than nothing"),
        ("yields", "33", "33 has no unit"),
        ("yields", "1 g + 1 tsp", "mixes mass and volume"),
        ("yields", "1 blob", '"blob" isn\'t a unit of'),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(eggs, column, value, words):
    build.item("flour")
    build.recipe("curd")

    faults = faults_of([WHITE | {column: value}])

    assert list(faults) == [(1, column)]
    assert words in faults[1, column]


def test_a_part_belongs_to_one_whole(eggs):
    build.item("duck eggs", measure="count")
    other = WHITE | {"whole": "duck eggs"}

    assert "row 1 already" in faults_of([WHITE, other])[2, "part"]

    keep_splits([WHITE])
    assert faults_of([other])[1, "part"].startswith("Egg white: a part of eggs already")


def test_a_part_that_lay_on_a_shelf_stays_in_its_measure(eggs):
    keep_splits([WHITE])
    build.stock(Item.objects.get(kind="part"), 100)

    faults = faults_of([WHITE | {"yields": "2 tbsp"}])

    assert faults[1, "yields"].startswith("Egg white: on the shelf by weight")


def test_a_bigger_part_makes_lines_counted_in_it_bigger(eggs):
    keep_splits([WHITE])
    white = Item.objects.get(kind="part")
    recipe = build.recipe("meringue")
    line = build.recipe_line(recipe, white, 132, quantity="4 each")

    keep_splits([WHITE | {"yields": "35 g"}])

    line.refresh_from_db()
    assert line.quantity_base == 140


def test_a_part_is_renamed_and_comes_back_as_an_entry(eggs):
    keep_splits([WHITE])

    keep_splits([{"part": "white"}], ids=[Item.objects.get(kind="part").pk])

    assert split_entries() == [
        {"whole": "eggs", "part": "white", "yields": "33 g", "keeps_days": 1}
    ]
