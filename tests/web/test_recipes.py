"""Recipes are added, changed and retired, and found in the list."""

from decimal import Decimal
from html import unescape

import pytest

from planning.models import Recipe
from stock.models import Item
from tests import build
from tests.web.reading import as_shown, page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

CURD = {
    "recipe": "lemon curd",
    "yields": "4 lb 9 oz",
    "batch_step": "0.5",
    "largest_batch": "2",
    "loss_percent": "3",
    "lead_days": "2",
    "keeps_days": "7",
    "holding": "cold",
}

CAKE = {
    "recipe": "lemon cake",
    "base_size": "8 in round x 3",
    "lead_days": "1",
    "keeps_days": "3",
    "holding": "",
}


def names(response, table):
    return [row.record.item.name for row in response.context[table].rows]


def test_a_component_is_added_with_all_that_was_said(signed_in):
    response = signed_in.post("/recipes/add/", CURD)

    curd = Recipe.objects.select_related("item").get()
    assert response.url == f"/recipes/{curd.pk}/#add-a-line"
    assert (curd.item.name, curd.item.kind) == ("lemon curd", Item.Kind.MADE)
    assert curd.yield_base == pytest.approx(2069.516, abs=0.001)  # 73 oz of 28.3495 g
    assert (curd.batch_step, curd.largest_batch) == (Decimal("0.5"), 2)
    assert (curd.loss_percent, curd.lead_days, curd.item.keeps_days) == (3, 2, 7)
    assert curd.holding == "cold"


def test_a_cake_is_added_with_its_own_size(signed_in):
    signed_in.post("/recipes/add/?cake=yes", CAKE)

    cake = Recipe.objects.select_related("item").get()
    assert cake.is_cake
    assert (cake.item.kind, cake.yields) == (Item.Kind.CAKE, "1 each")
    assert cake.base_size == "8 in round x 3"


def test_what_cannot_be_read_stands_beside_its_field_and_nothing_is_stored(signed_in):
    faulty = CURD | {"recipe": " ", "yields": "0 lb", "loss_percent": "100"}

    response = signed_in.post("/recipes/add/", faulty)

    form = response.context["form"]
    assert response.status_code == 200
    assert set(form.errors) >= {"recipe", "loss_percent"}
    assert 'value="0 lb"' in unescape(response.content.decode())
    assert not Recipe.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"yields": "0 lb"}, "yields"),
        ({"yields": "some"}, "yields"),
        ({"yields": ""}, "yields"),
        ({"batch_step": "-1"}, "batch_step"),
        ({"keeps_days": "0"}, "keeps_days"),
        ({"recipe": "butter"}, "recipe"),
    ],
)
def test_a_recipe_that_cannot_be_is_refused(signed_in, changed, field):
    build.item("butter")

    response = signed_in.post("/recipes/add/", CURD | changed)

    assert set(response.context["form"].errors) == {field}
    assert not Recipe.objects.exists()


def test_a_recipe_is_renamed_and_changed(signed_in):
    curd = build.recipe("curd")
    other = build.recipe("filling", lines=[(curd, 100)])

    response = signed_in.post(f"/recipes/{curd.pk}/change/", CURD | as_shown(curd))

    curd.refresh_from_db()
    assert response.url == f"/recipes/{curd.pk}/"
    assert curd.item.name == "lemon curd"
    assert curd.yields == "4 lb 9 oz"
    assert other.lines.get().component.name == "lemon curd"


def test_a_component_can_become_a_cake(signed_in):
    row = build.recipe("lemon cake", measure="count", yield_base=1)

    signed_in.post(f"/recipes/{row.pk}/change/?cake=yes", CAKE | as_shown(row))

    row.refresh_from_db()
    assert row.is_cake
    assert row.item.kind == Item.Kind.CAKE


def test_a_retired_recipe_is_hidden_and_comes_back(signed_in):
    curd = build.recipe("lemon curd")

    signed_in.post(f"/recipes/{curd.pk}/retire/", as_shown(curd.item))

    assert names(signed_in.get("/recipes/"), "components") == []
    assert "Show 1 retired too" in page(signed_in, "/recipes/")
    shown = signed_in.get("/recipes/?retired=yes")
    assert names(shown, "components") == ["lemon curd"]

    signed_in.post(f"/recipes/{curd.pk}/unretire/", as_shown(curd.item))

    assert names(signed_in.get("/recipes/"), "components") == ["lemon curd"]


def test_the_list_has_cakes_first_and_can_be_searched(signed_in):
    build.recipe("lemon curd", lead_days=2, keeps_days=7)
    build.recipe("butter layers")
    build.cake("lemon cake", base_size="9 x 13 in sheet x 2")

    every = signed_in.get("/recipes/")
    found = signed_in.get("/recipes/", {"words": "LEMON"})

    assert names(every, "cakes") == ["lemon cake"]
    assert names(every, "components") == ["butter layers", "lemon curd"]
    assert names(found, "components") == ["lemon curd"]
    markup = unescape(every.content.decode())
    assert markup.index("Lemon cake") < markup.index("Butter layers")
    for words in ("2 days before", "7 days", "9 x 13 in sheet x 2", "none yet"):
        assert words in markup


def test_an_empty_book_says_what_to_do_first(signed_in):
    assert "There is no recipe yet." in page(signed_in, "/recipes/")


def test_changes_are_never_made_by_looking(signed_in):
    recipe = build.recipe(lines=[(build.item(), 10)])

    for address in (
        f"/recipes/{recipe.pk}/retire/",
        f"/recipes/{recipe.pk}/unretire/",
        f"/recipes/lines/{recipe.lines.get().pk}/remove/",
    ):
        assert signed_in.get(address).status_code == 405
    assert recipe.lines.exists()


@pytest.mark.parametrize("recipes", [1, 12])
def test_the_queries_do_not_grow_with_the_recipes(
    signed_in, django_assert_num_queries, recipes
):
    butter = build.item("butter")
    rows = [
        build.recipe(f"layers {number}", lines=[(butter, 10), (build.item(), 10)])
        for number in range(recipes)
    ]
    cake = build.cake("cake", lines=[(row, 10) for row in rows])

    # who is signed in (2) and the bakery (1); then all recipes
    with django_assert_num_queries(4):
        page(signed_in, "/recipes/")
    # the recipe, its lines, converters (2) and the book (2)
    with django_assert_num_queries(9):
        page(signed_in, f"/recipes/{cake.pk}/")
    # the item, the book (2) and converters (2)
    with django_assert_num_queries(8):
        page(signed_in, f"/recipes/used/{butter.pk}/")


@pytest.mark.parametrize(
    "address", ["/recipes/9/", "/recipes/9/change/", "/recipes/lines/9/"]
)
def test_what_there_is_not_is_not_found(signed_in, address):
    assert signed_in.get(address).status_code == 404


def test_a_stranger_is_asked_to_sign_in(client, db):
    assert client.get("/recipes/").url.startswith("/sign-in/")
