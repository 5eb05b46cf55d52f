"""An item's page notes what can take its place, and lets it be taken away again."""

from html import unescape

import pytest

from stock.models import Substitute
from tests import build
from tests.web.reading import as_shown, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

CUP = {"substitute": "sour cream", "ratio": "1/2 cup for 1 cup"}


@pytest.fixture
def buttermilk():
    return build.item("buttermilk", equivalents="1 cup = 240 g", allergens="milk")


@pytest.fixture
def sour_cream():
    cup = "1 cup = 250 g"
    return build.item("sour cream", equivalents=cup, allergens="milk; soy")


def page(browser, address):
    response = browser.get(address)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def test_a_substitute_is_noted_on_the_items_page(signed_in, buttermilk, sour_cream):
    address = f"/shelves/{buttermilk.pk}/substitutes/add/"

    assert "for so much of buttermilk" in page(signed_in, address)
    assert '<option value="sour cream">' in page(signed_in, address)
    response = signed_in.post(address, CUP | {"note": "thin it with milk"})

    assert response.url == f"/shelves/{buttermilk.pk}/"
    markup = page(signed_in, response.url)
    assert "Noted: sour cream in the place of buttermilk." in markup
    assert "1/2 cup of it for 1 cup of buttermilk. Thin it with milk." in markup
    assert "Adds soy</strong>, from the labels entered." in markup
    assert "not a promise of “free from”" in markup


def test_where_a_substitute_is_known_from_is_said_in_its_own_words(
    signed_in, buttermilk, sour_cream
):
    build.substitute(buttermilk, sour_cream, source="from memory")

    assert "Source: from memory." in page(signed_in, f"/shelves/{buttermilk.pk}/")


def test_the_other_item_says_what_it_can_stand_in_for(
    signed_in, buttermilk, sour_cream
):
    build.substitute(buttermilk, sour_cream, quantity_base=125, for_base=240)

    markup = page(signed_in, f"/shelves/{sour_cream.pk}/")

    assert f'href="/shelves/{buttermilk.pk}/">buttermilk</a> (125 g for 240 g)' in (
        markup
    )
    assert "Nothing is noted yet." in markup


def test_an_allergen_that_the_other_label_does_not_name_is_said_with_care(
    signed_in, buttermilk, sour_cream
):
    build.substitute(sour_cream, buttermilk)

    markup = page(signed_in, f"/shelves/{sour_cream.pk}/")

    assert "Adds no allergen, from the labels entered." in markup
    assert "Its label does not name soy." in markup


def test_a_label_that_nobody_entered_is_no_promise(signed_in, buttermilk):
    build.substitute(buttermilk, build.item("whey"))

    markup = page(signed_in, f"/shelves/{buttermilk.pk}/")

    assert "No allergen is entered for it; that does not mean" in markup


def test_what_cannot_stand_in_is_said_beside_its_field(
    signed_in, buttermilk, sour_cream
):
    address = f"/shelves/{buttermilk.pk}/substitutes/add/"

    response = signed_in.post(address, CUP | {"substitute": "buttermilk"})

    form = response.context["form"]
    assert form.errors["substitute"] == [
        "Nothing stands in for itself: name something other than buttermilk."
    ]
    assert 'value="1/2 cup for 1 cup"' in unescape(response.content.decode())
    assert not Substitute.objects.exists()


def test_amounts_and_note_are_changed(signed_in, buttermilk, sour_cream):
    stored = build.substitute(buttermilk, sour_cream)
    address = f"/shelves/substitutes/{stored.pk}/"

    assert "So much of sour cream" in page(signed_in, address)
    sent = {"ratio": "1 cup for 1 cup", "note": "none"}
    response = signed_in.post(address, sent | as_shown(stored))

    stored.refresh_from_db()
    assert response.url == f"/shelves/{buttermilk.pk}/"
    assert (stored.quantity_base, stored.for_quantity_base) == (250, 240)


def test_a_substitute_is_taken_away_by_its_button_only(
    signed_in, buttermilk, sour_cream
):
    stored = build.substitute(buttermilk, sour_cream)
    address = f"/shelves/substitutes/{stored.pk}/take-away/"

    assert signed_in.get(address).status_code == 405
    response = signed_in.post(address, as_shown(stored))

    assert response.url == f"/shelves/{buttermilk.pk}/"
    assert not Substitute.objects.exists()
    assert "No longer noted: sour cream in the place of buttermilk." in page(
        signed_in, response.url
    )


def test_a_substitute_that_is_taken_away_twice_is_said_to_be_gone(
    signed_in, buttermilk, sour_cream
):
    stored = build.substitute(buttermilk, sour_cream)
    address = f"/shelves/substitutes/{stored.pk}/take-away/"
    sent = as_shown(stored)

    told(signed_in, signed_in.post(address, sent))
    again = told(signed_in, signed_in.post(address, sent))

    assert again == ["That substitute is gone already."]


def test_what_is_made_here_has_no_substitutes(signed_in):
    curd = build.recipe("curd").item

    assert "Can be replaced by" not in page(signed_in, f"/shelves/{curd.pk}/")
    assert signed_in.get(f"/shelves/{curd.pk}/substitutes/add/").status_code == 404
