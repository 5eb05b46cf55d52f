from decimal import Decimal
from functools import partial

import pytest

from planning.models import Recipe
from planning.recipes.recipes import keep_recipes, recipe_entries
from stock.entry.entries import Change, EntryFaultsError
from stock.models import Item
from tests import build, faults

pytestmark = pytest.mark.django_db

CURD = {"recipe": "curd", "yields": "2.4 kg"}
CAKE = {
    "recipe": "wedding cake",
    "yields": "1 each",
    "is_cake": "yes",
    "base_size": "8 in round x 3",
}


faults_of = partial(faults.of, keep_recipes)


def test_what_a_recipe_makes_is_an_item_in_the_measure_of_its_yields():
    keep_recipes([CURD | {"keeps_days": "7", "loss_percent": "2.5"}])

    curd = Recipe.objects.get()
    assert (curd.yield_base, curd.loss_percent) == (2_400, Decimal("2.5"))
    assert (curd.item.kind, curd.item.measure, curd.item.keeps_days) == (
        "made",
        "mass",
        7,
    )


def test_a_cake_is_counted():
    keep_recipes([CAKE])

    cake = Item.objects.get()
    assert (cake.kind, cake.measure) == ("cake", "count")


def test_a_cake_that_nothing_scales_in_may_leave_its_base_size_blank():
    keep_recipes([CAKE | {"base_size": ""}])

    assert Recipe.objects.get().base_size == ""


def test_the_same_recipes_again_change_nothing():
    entries = [CURD | {"batch_step": "0.5"}, CAKE]
    keep_recipes(entries)

    assert keep_recipes(entries).unchanged == 2


@pytest.mark.parametrize(
    ("entry", "column", "words"),
    [
        (CURD | {"loss_percent": "100"}, "loss_percent", "below 100"),
        (CURD | {"loss_percent": "-1"}, "loss_percent", "0 or more"),
        (CURD | {"yields": "0 g"}, "yields", "more than nothing"),
        (CURD | {"yields": "-2 kg"}, "yields", "cannot be negative"),
        (CURD | {"yields": "2 batch"}, "yields", '"batch" isn\'t a unit of'),
        (CURD | {"largest_batch": "0"}, "largest_batch", "above 0"),
        (CURD | {"base_size": "8 in round x 3"}, "base_size", "Only a cake"),
        (CURD | {"recipe": "butter"}, "recipe", "one set of names"),
        (CAKE | {"yields": "2 each"}, "yields", "A cake yields 1 each"),
        (CAKE | {"yields": "1 kg"}, "yields", "A cake yields 1 each"),
        (CAKE | {"base_size": "8 in oval x 3"}, "base_size", "8 in oval x 3"),
        (CAKE | {"loss_percent": "5"}, "loss_percent", "A cake has no loss"),
        (CAKE | {"batch_step": "1"}, "batch_step", "no batch step"),
        (CAKE | {"largest_batch": "3"}, "largest_batch", "no largest batch"),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(entry, column, words):
    build.item("butter")

    faults = faults_of([entry])

    assert list(faults) == [(1, column)]
    assert words in faults[1, column]
    assert not Recipe.objects.exists()


def test_lines_follow_when_a_recipe_is_measured_otherwise():
    curd = build.recipe("curd")
    tart = build.recipe("tart filling")
    build.recipe_line(tart, curd, 500, quantity="500 g")

    faults = faults_of([{"recipe": "curd", "yields": "2 L"}])

    assert faults[1, "yields"].startswith(
        "1 recipe measures curd in a way that would be lost: tart filling (500 g)."
    )
    assert Recipe.objects.get(item__name="curd").item.measure == "mass"


def test_what_lay_on_a_shelf_stays_in_its_measure():
    curd = build.recipe("curd")
    build.stock(curd.item, 300)

    faults = faults_of([{"recipe": "curd", "yields": "2 L"}])

    assert faults[1, "yields"].startswith("Curd: on the shelf by weight")


def test_a_component_that_others_take_cannot_become_a_cake():
    sponge = build.recipe("sponge", measure="count", yield_base=1)
    build.recipe("trifle", lines=[(sponge, 2)])
    build.stock(sponge.item, 3)

    faults = faults_of([CAKE | {"recipe": "sponge"}])

    assert faults == {(1, "is_cake"): "Trifle takes sponge, and a cake is part of no "
                       "recipe."}  # fmt: skip


def test_a_planned_cake_stays_a_cake():
    build.planned_cake(build.cake("wedding cake"), reference="2101")

    faults = faults_of([{"recipe": "wedding cake", "is_cake": "", "base_size": ""}])

    assert faults == {(1, "is_cake"): "The bake plan has wedding cake as a cake: 2101."}


def test_a_base_size_keeps_what_its_lines_scale_with():
    cake = build.cake("wedding cake")
    build.recipe_line(cake, build.item("curd"), scales_with="filling")

    faults = faults_of([{"recipe": "wedding cake", "base_size": "8 in round x 1"}])

    assert "scales with filling" in faults[1, "base_size"]


def test_a_recipe_is_renamed_but_not_to_a_name_that_is_taken():
    keep_recipes([CURD])
    build.item("butter")
    pk = Item.objects.get(name="curd").pk

    kept = keep_recipes([{"recipe": "lemon curd"}], ids=[pk])
    assert kept.changed == (Change("lemon curd", "recipe", "curd", "lemon curd"),)
    assert Item.objects.get(pk=pk).name == "lemon curd"

    with pytest.raises(EntryFaultsError, match="The name butter is taken"):
        keep_recipes([{"recipe": "Butter"}], ids=[pk])


def test_what_is_stored_comes_back_as_entries_that_change_nothing():
    keep_recipes([CAKE, CURD | {"largest_batch": "2.5", "holding": "cold"}])

    entries = recipe_entries()

    assert [entry["recipe"] for entry in entries] == ["curd", "wedding cake"]
    assert keep_recipes(entries).unchanged == 2


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    def entries(word, count):
        return [CURD | {"recipe": f"{word} {number}"} for number in range(count)]

    with django_assert_num_queries(7):
        keep_recipes(entries("few", 2))
    with django_assert_num_queries(7):
        keep_recipes(entries("many", 40))
