"""What is made here is said in the units of its recipe's yield, on every page."""

from datetime import timedelta

import pytest

from planning.models import Recipe
from planning.recipes.recipes import keep_recipes
from stock.conversion.converters import converters_for
from stock.measures.reading.sayings import System, system_in, system_of
from stock.measures.wording import say_short
from tests import build
from tests.build import MONDAY
from tests.web.reading import page

pytestmark = pytest.mark.django_db


def kept(yields, name="praline"):
    keep_recipes([{"recipe": name, "yields": yields}])
    return Recipe.objects.select_related("item").get(item__name=name)


def said(recipe, amount_base):
    return say_short(amount_base, converters_for([recipe.pk])[recipe.pk])


@pytest.mark.parametrize(
    ("yields", "words"),
    [("2 lb 14 oz", "2 lb"), ("1.3 kg", "907 g"), ("1300 g", "907 g")],
)
def test_it_speaks_as_its_recipe_does(yields, words):
    assert said(kept(yields), 907) == words  # 2 lb are 907.18 g


def test_another_yield_is_another_way_to_say_it():
    kept("1.3 kg")

    assert said(kept("3 lb"), 907) == "2 lb"


def test_a_part_speaks_as_its_yield_does():
    lemon = build.item("lemon", measure="count")
    white = build.part("white", whole=lemon, yields_base=33)
    juice = build.part("juice", whole=lemon, yields_base=47)
    juice.part_yields = "1 2/3 oz"
    juice.save()

    known = converters_for([juice.pk, white.pk])

    assert system_of(known[juice.pk]) is System.CUSTOMARY
    assert system_of(known[white.pk]) is System.METRIC


def test_packs_and_own_words_come_before():
    flour = build.item("flour")
    build.pack(flour, holds="5 kg", size_base=5_000, called="bag")
    flour.speaks = "customary"
    flour.save()

    assert system_of(converters_for([flour.pk])[flour.pk]) is System.METRIC


@pytest.mark.parametrize(
    ("levels", "words"),
    [
        ({"par": "4 lb"}, "2 lb"),
        ({"safety": "1 lb"}, "2 lb"),
        ({"par": "2 kg", "safety": "1 lb"}, "907 g"),
        ({"par": "1 bag"}, "907 g"),
    ],
)
def test_what_the_kitchen_types_comes_before_what_packs_come_in(levels, words):
    chocolate = build.item("chocolate", **levels)
    build.pack(chocolate, holds="5 kg", size_base=5_000, called="bag")

    assert said(chocolate, 907) == words  # 2 lb are 907.18 g


@pytest.mark.parametrize("text", ["3 each", "", "a lot", "2 case"])
def test_what_cannot_be_told_is_not(text):
    assert system_in(text) is None


@pytest.mark.usefixtures("at_noon")
def test_every_page_says_it_in_one_unit(signed_in):
    build.bakery(time_zone="UTC")
    praline = kept("2 lb 14 oz")
    nuts = build.item("nuts", on_hand_base=100_000)
    build.recipe_line(praline, nuts, 1_304, quantity="2 lb 14 oz")
    build.stock(praline.item, 453.6, use_by=MONDAY + timedelta(days=9))
    cake = build.cake("Torte", lines=[(praline, 1_814.4)])
    build.planned_cake(cake, due_on=MONDAY)
    addresses = {
        "Today": "/",
        "Shelves": "/shelves/",
        "its days": f"/ahead/{praline.pk}/",
        "its shelf": f"/shelves/{praline.pk}/",
    }

    shown = {name: page(signed_in, address) for name, address in addresses.items()}

    # 4 lb are needed, 1 lb lies ready, 3 lb are made
    assert "3 lb" in shown["its days"]
    for name in ("Shelves", "its shelf"):
        assert "1 lb" in shown[name]
    assert "1.36 kg" not in "".join(shown.values())
