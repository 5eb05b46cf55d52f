"""What the page of a recipe says: what it takes, weighs and contains."""

import pytest

from tests import build
from tests.web.reading import page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_a_recipe_shows_what_it_takes_and_the_base_amount_one_tap_away(signed_in):
    sugar = build.item("sugar", equivalents="1 cup = 200 g")
    curd = build.recipe("lemon curd", holding="cold")
    build.recipe_line(curd, sugar, 500, quantity="2 1/2 cup", yield_percent=80)

    markup = page(signed_in, f"/recipes/{curd.pk}/")

    tapped = markup.partition("<summary>2 1/2 cup</summary>")[2]
    assert "500 g" in tapped.partition("</details>")[0]
    assert "80 %" in markup
    assert "It is kept cold." in markup
    assert "Local codes and licensed practice decide what is safe." in markup


def test_what_is_bought_says_what_brings_it(signed_in):
    butter, salt = build.item("butter"), build.item("salt")
    icing = build.recipe("Icing", yield_base=1_000, lines=[(butter, 500)])
    layers = build.recipe("layers", lines=[(icing, 400), (butter, 100), (salt, 5)])

    markup = " ".join(page(signed_in, f"/recipes/{layers.pk}/").split())

    # 200 g in 400 g of icing, and 100 g of its own
    assert (
        '>Butter</a>: 300 g <span class="soft">(200 g in Icing, 100 g by itself)</span>'
        in markup
    )
    assert ">Salt</a>: 5 g</li>" in markup


def test_what_a_batch_weighs_stands_against_what_it_yields(signed_in):
    lines = [(build.item("sugar"), 300), (build.item("butter"), 200)]
    curd = build.recipe("lemon curd", yield_base=450, lines=lines)

    markup = page(signed_in, f"/recipes/{curd.pk}/")

    assert "One batch weighs <strong>500 g</strong>" in markup
    weighed = markup.partition("What the weight is made of")[2].partition("</table>")[0]
    assert weighed.index("300.00 g") < weighed.index("200.00 g")
    assert weighed.index("200.00 g") < weighed.index("500.00 g")
    assert "It is said to yield 450 g, which is 10 % less" in markup


def test_a_batch_that_yields_more_than_goes_in_is_pointed_out(signed_in):
    sugar = build.item("sugar")
    caramel = build.recipe("caramel", yield_base=110, lines=[(sugar, 100)])

    markup = page(signed_in, f"/recipes/{caramel.pk}/")

    assert "which is 10 % more than goes in. Check the yield and the lines." in markup


def test_allergens_are_named_from_labels_and_never_said_to_be_absent(signed_in):
    butter = build.item("butter", allergens="milk")
    flour = build.item("flour", allergens="wheat")
    sugar = build.item("sugar")
    layers = build.recipe("layers", lines=[(flour, 100), (butter, 100)])
    cake = build.cake("lemon cake", lines=[(layers, 100), (sugar, 10)])
    plain = build.recipe("syrup", lines=[(sugar, 10)])

    with_some = page(signed_in, f"/recipes/{cake.pk}/")
    with_none = page(signed_in, f"/recipes/{plain.pk}/")

    assert "Contains, from the labels entered: milk, wheat." in with_some
    assert "No allergens have been entered for anything in it." in with_none
    for markup in (with_some, with_none):
        assert "1 ingredient with no allergen entered" in markup
        assert "read the label again at every delivery" in markup
        assert "free from" not in markup.casefold()


def test_where_an_item_is_used_directly_and_in_which_cakes(signed_in):
    eggs = build.item("eggs", measure="count")
    yolk = build.part("egg yolk", whole=eggs, yields_base=17)
    curd = build.recipe("lemon curd", lines=[(yolk, 100)])
    filling = build.recipe("filling", lines=[(curd, 100)])
    build.cake("lemon cake", lines=[(filling, 100)])
    build.cake("egg cake", lines=[(eggs, 3)])

    markup = page(signed_in, f"/recipes/used/{eggs.pk}/")

    assert "Lemon curd</a> takes 100 g of egg yolk" in markup
    assert "Egg cake</a> takes 3 eggs" in markup
    assert "Lemon cake</a>, through filling" in markup


def test_an_item_that_no_recipe_takes_says_so(signed_in):
    salt = build.item("salt")

    assert "No recipe takes it." in page(signed_in, f"/recipes/used/{salt.pk}/")


def test_names_are_escaped(signed_in):
    name = 'Crème "<b>brûlée</b>" & co'
    item = build.item('<i>vanilla</i> "bean"', allergens="<u>milk</u>")
    recipe = build.recipe(name, lines=[(item, 10)])
    line = recipe.lines.get()

    for address in (
        "/recipes/",
        f"/recipes/{recipe.pk}/",
        f"/recipes/{recipe.pk}/change/",
        f"/recipes/lines/{line.pk}/",
        f"/recipes/used/{item.pk}/",
    ):
        markup = signed_in.get(address).content.decode()
        assert "Crème" in markup
        assert not {"<b>", "<i>", "<u>"} & {markup[at : at + 3] for at in _tags(markup)}


def _tags(markup):
    return [at for at, sign in enumerate(markup) if sign == "<"]
