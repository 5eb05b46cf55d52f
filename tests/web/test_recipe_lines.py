"""The lines of a recipe: added, changed, taken out and put back."""

from html import unescape

import pytest

from planning.models import RecipeLine
from tests import build
from tests.web.reading import as_shown, page, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def add_line_url(recipe):
    return f"/recipes/{recipe.pk}/lines/add/"


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
        {"component": "flour", "quantity": "150 g", "yield_percent": "100"}
        | as_shown(line),
    )

    assert response.url == f"/recipes/{recipe.pk}/"
    assert [each.quantity for each in recipe.lines.all()] == ["150 g", "200 g"]


def test_a_line_that_is_removed_twice_is_said_to_be_gone(signed_in):
    cake = build.cake("lemon cake", lines=[(build.item("butter"), 300)])
    line = cake.lines.get()
    address, sent = f"/recipes/lines/{line.pk}/remove/", as_shown(line)

    signed_in.post(address, sent)
    told(signed_in, signed_in.post(address, sent))
    again = told(signed_in, signed_in.post(address, sent))

    assert again == ["That line is gone already."]


def test_a_line_that_is_taken_out_stands_ready_to_be_put_back(signed_in):
    butter = build.item('crème "<b>"')
    cake = build.cake("lemon cake")
    build.recipe_line(cake, butter, 300, yield_percent=95, scales_with="surface")

    line = cake.lines.get()

    response = signed_in.post(f"/recipes/lines/{line.pk}/remove/", as_shown(line))

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
