from decimal import Decimal
from html import unescape

import pytest

from planning.models import Recipe, RecipeLine
from stock.models import Item
from tests import build

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


def page(browser, address):
    response = browser.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\N{NO-BREAK SPACE}", " ")


def told(browser, response):
    assert response.status_code == 302
    followed = browser.get(response.url)
    return [str(message) for message in followed.context["messages"]]


def add_line_url(recipe):
    return f"/recipes/{recipe.pk}/lines/add/"


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

    response = signed_in.post(f"/recipes/{curd.pk}/change/", CURD)

    curd.refresh_from_db()
    assert response.url == f"/recipes/{curd.pk}/"
    assert curd.item.name == "lemon curd"
    assert curd.yields == "4 lb 9 oz"
    assert other.lines.get().component.name == "lemon curd"


def test_a_component_can_become_a_cake(signed_in):
    row = build.recipe("lemon cake", measure="count", yield_base=1)

    signed_in.post(f"/recipes/{row.pk}/change/?cake=yes", CAKE)

    row.refresh_from_db()
    assert row.is_cake
    assert row.item.kind == Item.Kind.CAKE


def test_a_retired_recipe_is_hidden_and_comes_back(signed_in):
    curd = build.recipe("lemon curd")

    signed_in.post(f"/recipes/{curd.pk}/retire/")

    assert names(signed_in.get("/recipes/"), "components") == []
    assert "Show 1 retired too" in page(signed_in, "/recipes/")
    shown = signed_in.get("/recipes/?retired=yes")
    assert names(shown, "components") == ["lemon curd"]

    signed_in.post(f"/recipes/{curd.pk}/unretire/")

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
    assert markup.index("lemon cake") < markup.index("butter layers")
    for words in ("2 days before", "7 days", "9 x 13 in sheet x 2", "none yet"):
        assert words in markup


def test_an_empty_book_says_what_to_do_first(signed_in):
    assert "There is no recipe yet." in page(signed_in, "/recipes/")


def test_a_line_is_added_in_any_unit_that_the_component_knows(signed_in):
    build.item("sugar", equivalents="1 cup = 200 g")
    curd = build.recipe("lemon curd")

    response = signed_in.post(
        add_line_url(curd),
        {"component": "Sugar", "quantity": "3 1/4 cup", "yield_percent": ""},
    )

    line = RecipeLine.objects.get()
    assert (line.component.name, line.quantity) == ("sugar", "3 1/4 cup")
    assert line.quantity_base == pytest.approx(650)
    assert line.yield_percent == 100
    assert told(signed_in, response) == ["Added to lemon curd: sugar."]


def test_a_unit_without_equivalent_names_the_remedy_and_leads_to_it(signed_in):
    sugar = build.item("sugar")
    curd = build.recipe("lemon curd")

    response = signed_in.post(
        add_line_url(curd), {"component": "sugar", "quantity": "1 cup"}
    )

    assert (
        "Enter the weight of one cup on its page."
        in (response.context["form"].errors["quantity"][0])
    )
    markup = unescape(response.content.decode())
    assert f'href="/shelves/{sugar.pk}/change/"' in markup
    assert 'value="1 cup"' in markup
    assert not RecipeLine.objects.exists()


def test_a_recipe_in_itself_is_refused_with_the_way_round(signed_in):
    curd = build.recipe("curd")
    filling = build.recipe("filling", lines=[(curd, 100)])
    frosting = build.recipe("frosting", lines=[(filling, 100)])

    response = signed_in.post(
        add_line_url(curd), {"component": "frosting", "quantity": "10 g"}
    )

    assert (
        "curd -> frosting -> filling -> curd"
        in (response.context["form"].errors["component"][0])
    )
    assert not curd.lines.exists()
    assert frosting.lines.count() == 1


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"component": "flower"}, "component"),
        ({"component": "lemon cake"}, "component"),
        ({"component": "butter"}, "component"),  # has a line already
        ({"quantity": "some"}, "quantity"),
        ({"quantity": ""}, "quantity"),
        ({"yield_percent": "0"}, "yield_percent"),
        ({"yield_percent": "101"}, "yield_percent"),
        ({"scales_with": "volume"}, None),
    ],
)
def test_a_line_that_cannot_be_is_refused(signed_in, changed, field):
    build.item("flour")
    build.cake("lemon cake")
    butter = build.item("butter")
    curd = build.recipe("lemon curd", lines=[(butter, 10)])
    sent = {"component": "flour", "quantity": "2 lb", "yield_percent": "90"}

    response = signed_in.post(add_line_url(curd), sent | changed)

    if field is None:  # a component's line has no such field, so nothing is taken
        assert curd.lines.get(component__name="flour").scales_with == ""
        return
    assert set(response.context["form"].errors) == {field}
    assert curd.lines.count() == 1


def test_a_cakes_line_grows_with_something_that_its_size_has(signed_in):
    build.item("filling")
    flat = build.cake("flat cake", base_size="8 in round x 1")
    tall = build.cake("tall cake", base_size="8 in round x 2")
    sent = {"component": "filling", "quantity": "1 lb", "scales_with": "filling"}

    refused = signed_in.post(add_line_url(flat), sent)
    signed_in.post(add_line_url(tall), sent)

    assert set(refused.context["form"].errors) == {"scales_with"}
    assert tall.lines.get().scales_with == "filling"
    assert "the fillings' area" in page(signed_in, f"/recipes/{tall.pk}/")


def test_a_line_is_changed_and_keeps_its_place(signed_in):
    flour, butter = build.item("flour"), build.item("butter")
    recipe = build.recipe("layers", lines=[(flour, 100), (butter, 200)])
    line = recipe.lines.get(component=flour)

    response = signed_in.post(
        f"/recipes/lines/{line.pk}/",
        {"component": "flour", "quantity": "150 g", "yield_percent": "100"},
    )

    assert response.url == f"/recipes/{recipe.pk}/"
    assert [each.quantity for each in recipe.lines.all()] == ["150 g", "200 g"]


def test_a_line_that_is_taken_out_stands_ready_to_be_put_back(signed_in):
    butter = build.item('crème "<b>"')
    cake = build.cake("lemon cake")
    build.recipe_line(cake, butter, 300, yield_percent=95, scales_with="surface")

    response = signed_in.post(f"/recipes/lines/{cake.lines.get().pk}/remove/")

    assert not cake.lines.exists()
    shown = signed_in.get(response.url)
    assert "<b>" not in shown.content.decode()
    form = shown.context["form"]
    again = {name: form[name].value() for name in form.fields}
    assert again == {
        "component": 'crème "<b>"',
        "quantity": "300 g",
        "yield_percent": "95",
        "scales_with": "surface",
    }

    signed_in.post(add_line_url(cake), again)

    line = cake.lines.get()
    assert (line.quantity_base, line.yield_percent) == (300, 95)
    assert line.scales_with == "surface"


def test_changes_are_never_made_by_looking(signed_in):
    recipe = build.recipe(lines=[(build.item(), 10)])

    for address in (
        f"/recipes/{recipe.pk}/retire/",
        f"/recipes/{recipe.pk}/unretire/",
        f"/recipes/lines/{recipe.lines.get().pk}/remove/",
    ):
        assert signed_in.get(address).status_code == 405
    assert recipe.lines.exists()


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
        '>butter</a>: 300 g <span class="soft">(200 g in Icing, 100 g by itself)</span>'
        in markup
    )
    assert ">salt</a>: 5 g</li>" in markup


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

    assert "lemon curd</a> takes 100 g of egg yolk" in markup
    assert "egg cake</a> takes 3 each" in markup
    assert "lemon cake</a>, through filling" in markup


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
    # the item and the book (2)
    with django_assert_num_queries(6):
        page(signed_in, f"/recipes/used/{butter.pk}/")


@pytest.mark.parametrize(
    "address", ["/recipes/9/", "/recipes/9/change/", "/recipes/lines/9/"]
)
def test_what_there_is_not_is_not_found(signed_in, address):
    assert signed_in.get(address).status_code == 404


def test_a_stranger_is_asked_to_sign_in(client, db):
    assert client.get("/recipes/").url.startswith("/sign-in/")
