from fractions import Fraction

import pytest

from planning.recipes.batch_weight import weigh_batch
from stock.conversion.converters import converters_for
from stock.models import Item
from tests import build

pytestmark = pytest.mark.django_db


def weigh(recipe):
    lines = list(recipe.lines.select_related("component"))
    return weigh_batch(recipe, lines, converters_for())


def test_masses_are_added_through_each_items_own_equivalents():
    milk = build.item("milk", measure="volume", equivalents="1 cup = 244 g")
    eggs = build.item("eggs", measure="count", equivalents="1 each = 50 g")
    flour = build.item("flour")
    recipe = build.recipe("batter", yield_base=560, lines=[(flour, 256)])
    build.recipe_line(recipe, milk, 0, quantity="1 cup")
    build.recipe_line(recipe, eggs, 0, quantity="4 each")

    weight = weigh(recipe)

    # 256 + 244 + 200 = 700 g go in, 560 g come out: a fifth is lost
    assert weight.in_g == 700
    assert weight.yield_g == 560
    assert weight.lost_fraction == pytest.approx(0.2)


def test_what_nothing_says_the_weight_of_is_named_and_stops_the_comparison():
    color = build.item("food color", measure="volume")
    flour = build.item("flour")
    recipe = build.recipe("batter", yield_base=500, lines=[(flour, 600)])
    build.recipe_line(recipe, color, 0, quantity="1 tsp")

    weight = weigh(recipe)

    assert weight.in_g == 600
    assert weight.not_weighed == ("food color",)
    assert weight.lost_fraction is None


def test_packaging_is_left_out():
    box = build.item("box", measure="count", kind=Item.Kind.PACKAGING)
    recipe = build.recipe("cake mix", lines=[(box, 1)])

    weight = weigh(recipe)

    assert weight.in_g == Fraction(0)
    assert weight.not_weighed == ()
    assert weight.lost_fraction is None


def test_only_what_is_edible_counts():
    lemons = build.item("lemons")
    recipe = build.recipe("curd", yield_base=90)
    build.recipe_line(recipe, lemons, 90, yield_percent=45)

    assert weigh(recipe).in_g == 90


def test_a_yield_by_volume_is_not_weighed():
    sugar = build.item("sugar")
    recipe = build.recipe(
        "syrup", measure="volume", yield_base=1000, lines=[(sugar, 1)]
    )

    assert weigh(recipe).yield_g is None
    assert weigh(recipe).lost_fraction is None


def test_more_out_than_in_is_a_loss_below_nothing():
    sugar = build.item("sugar")
    recipe = build.recipe("caramel", yield_base=110, lines=[(sugar, 100)])

    assert weigh(recipe).lost_fraction == pytest.approx(-0.1)
