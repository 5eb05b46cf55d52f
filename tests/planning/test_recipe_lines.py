from decimal import Decimal
from functools import partial

import pytest

from planning.models import RecipeLine
from planning.recipes.recipe_lines import (
    keep_recipe_lines,
    recipe_line_entries,
    remove_recipe_line,
)
from tests import build, faults

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def kitchen():
    build.item("butter", own_units="stick = 4 oz", equivalents="1 cup = 227 g")
    build.part("egg white", whole=build.item("eggs", measure="count"), yields_base=33)
    build.recipe("curd")
    build.recipe("cream")
    build.cake("wedding cake", base_size="8 in round x 1")


def line(recipe, component, quantity="100 g", **columns):
    return {"recipe": recipe, "component": component, "quantity": quantity, **columns}


faults_of = partial(faults.of, keep_recipe_lines)


def test_lines_come_to_the_base_unit_of_what_they_take():
    keep_recipe_lines(
        [
            line("curd", "butter", "1 1/2 cup", yield_percent="95"),
            line("curd", "egg white", "4 each"),
            line("wedding cake", "CURD", "1.2 kg", scales_with="surface"),
            line("wedding cake", "eggs", "1 dozen", scales_with="cake"),
        ]
    )

    assert list(
        RecipeLine.objects.order_by("pk").values_list(
            "quantity_base", "yield_percent", "scales_with", "position"
        )
    ) == [
        (340.5, Decimal(95), "", 1),
        (132, Decimal(100), "", 2),
        (1_200, Decimal(100), "surface", 1),
        (12, Decimal(100), "", 2),
    ]


def test_the_same_lines_again_change_nothing():
    entries = [line("curd", "butter"), line("wedding cake", "curd", scales_with="cake")]
    keep_recipe_lines(entries)

    assert keep_recipe_lines(entries).unchanged == 2


@pytest.mark.parametrize(
    ("entry", "column", "words"),
    [
        (line("curds", "butter"), "recipe", "Did you mean curd?"),
        (line("butter", "eggs", "1 each"), "recipe", "There is no recipe of butter"),
        (line("curd", "buter"), "component", "Did you mean butter?"),
        (line("curd", "wedding cake", "1 each"), "component", "a cake cannot be part"),
        (line("curd", "curd"), "component", "curd -> curd"),
        (line("curd", "butter", "2"), "quantity", "2 has no unit"),
        (line("curd", "butter", "7/4 lb"), "quantity", "1 3/4 lb or 7 x 4 lb"),
        (line("curd", "butter", "2 T"), "quantity", "2 tbsp or 2 tsp"),
        (line("curd", "butter", "about 2 lb"), "quantity", "has to be exact"),
        (line("curd", "butter", "2 tub"), "quantity", '"tub" isn\'t a unit of'),
        (line("curd", "cream", "2 cup"), "quantity", "Cream: kept by weight"),
        (line("curd", "eggs", "100 g"), "quantity", "Eggs: kept by count"),
        (line("curd", "butter", yield_percent="0"), "yield_percent", "above 0"),
        (line("curd", "butter", yield_percent="101"), "yield_percent", "at most 100"),
        (line("curd", "butter", scales_with="volume"), "scales_with", "not those of"),
        (line("wedding cake", "curd", scales_with="age"), "scales_with", "not known"),
        (
            line("wedding cake", "curd", scales_with="filling"),
            "scales_with",
            "8 in round x 1",
        ),
    ],
)
def test_a_faulty_cell_says_what_is_wrong(entry, column, words):
    faults = faults_of([entry])

    assert list(faults) == [(1, column)]
    assert words in faults[1, column]
    assert not RecipeLine.objects.exists()


@pytest.mark.parametrize(
    ("typed", "grams"),
    [
        ("3 lb and 2 oz", "1417.4762"),
        ("1-1/2 lb", "680.3886"),
        ("half a lb", "226.7962"),
        ("3/4 lb of butter", "340.1943"),
        ("6#", "2721.5542"),
        ("500 gr", "500"),
    ],
)
def test_what_a_counter_says_a_recipe_line_may_say(typed, grams):
    keep_recipe_lines([line("curd", "butter", typed)])

    [stored] = RecipeLine.objects.all()
    assert stored.quantity == typed
    assert stored.quantity_base == pytest.approx(float(grams), abs=1e-4)


def test_a_circle_is_named_as_the_path_on_the_line_that_closes_it():
    build.recipe("jam")
    keep_recipe_lines([line("curd", "cream")])

    faults = faults_of([line("cream", "jam"), line("jam", "curd")])

    assert list(faults) == [(2, "component")]
    assert "jam -> curd -> cream -> jam" in faults[2, "component"]


def test_a_recipe_takes_a_component_once():
    faults = faults_of([line("curd", "butter"), line("Curd", "Butter", "1 lb")])

    assert faults == {(2, "component"): "Curd, Butter is in row 1 already."}


def test_a_page_puts_another_component_in_a_lines_place():
    keep_recipe_lines([line("curd", "butter", "1 stick")])
    pk = RecipeLine.objects.get().pk

    keep_recipe_lines([{"component": "eggs", "quantity": "3 each"}], ids=[pk])

    changed = RecipeLine.objects.get()
    assert (changed.pk, changed.component.name, changed.quantity_base) == (
        pk,
        "eggs",
        3,
    )


def test_a_line_is_taken_out():
    keep_recipe_lines([line("curd", "butter"), line("curd", "cream")])
    pk = RecipeLine.objects.get(component__name="butter").pk

    remove_recipe_line(pk)
    remove_recipe_line(pk)

    assert [each["component"] for each in recipe_line_entries()] == ["cream"]


def test_what_is_stored_comes_back_as_entries_that_change_nothing():
    keep_recipe_lines(
        [
            line("wedding cake", "curd", scales_with="volume"),
            line("curd", "eggs", "3 each", yield_percent="87.5"),
            line("curd", "butter"),
        ]
    )

    entries = recipe_line_entries()

    assert [each["component"] for each in entries] == ["eggs", "butter", "curd"]
    assert keep_recipe_lines(entries).unchanged == 3


def test_queries_do_not_grow_with_the_entries(django_assert_num_queries):
    few = [build.item(f"few {number}").name for number in range(2)]
    many = [build.item(f"many {number}").name for number in range(100)]

    with django_assert_num_queries(9):
        keep_recipe_lines([line("curd", name) for name in few])
    with django_assert_num_queries(9):
        keep_recipe_lines([line("curd", name) for name in many])
