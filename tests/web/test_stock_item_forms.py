"""The forms of an item and its parts: added, changed, retired."""

from html import unescape

import pytest

from stock.models import Item
from tests import build
from tests.web.reading import as_shown, page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

ADD = "/shelves/add/"
# What a form sends that was filled in and nothing more.
FLOUR = {
    "item": "bread flour",
    "kind": "ingredient",
    "measure": "mass",
    "equivalents": "1 cup = 125 g",
    "own_units": "scoop = 6 oz",
    "place": "bins",
    "walk_order": "3",
    "safety": "10 lb",
    "par": "",
    "keeps_days": "180",
    "minimum_days_left": "",
    "allergens": "wheat",
}


def test_an_item_is_added_with_all_that_was_said(signed_in):
    bins = build.place("bins")

    response = signed_in.post(ADD, FLOUR)

    flour = Item.objects.get()
    assert response.status_code == 302
    assert response.url == f"/shelves/{flour.pk}/"
    assert (flour.name, flour.place, flour.measure) == ("bread flour", bins, "mass")
    assert flour.safety_base == pytest.approx(4535.9237)
    assert flour.keeps_days == 180
    assert "Added: bread flour." in page(signed_in, response.url)


def test_a_word_that_is_a_unit_says_what_it_replaces(signed_in):
    build.place("bins")
    berries = FLOUR | {
        "item": "raspberries",
        "equivalents": "1 cup = 123 g",
        "own_units": "pint = 312 g",
    }

    shown = page(signed_in, signed_in.post(ADD, berries).url)

    assert "1 pint = 312 g" in shown
    assert "(its own word, in place of the unit pint, 246 g)" in shown


def test_an_accent_that_a_keyboard_sends_apart_is_one_letter_of_the_name(signed_in):
    build.place("bins")

    response = signed_in.post(ADD, FLOUR | {"item": " cre\u0300me "})

    creme = Item.objects.get(name="cr\u00e8me")
    assert response.url == f"/shelves/{creme.pk}/"


def test_what_cannot_be_read_stands_beside_its_field_and_nothing_is_stored(signed_in):
    build.place("bins")
    faulty = FLOUR | {"measure": "", "equivalents": "1 cup = 2 pint", "place": "bin"}

    response = signed_in.post(ADD, faulty)

    form = response.context["form"]
    assert response.status_code == 200
    assert set(form.errors) == {"measure", "place"}
    assert "Did you mean bins?" in form.errors["place"][0]
    markup = unescape(response.content.decode())
    assert 'value="bread flour"' in markup
    assert "1 cup = 2 pint" in markup
    assert not Item.objects.exists()


def test_an_item_without_a_name_is_not_stored(signed_in):
    response = signed_in.post(ADD, FLOUR | {"item": "  ", "place": ""})

    assert set(response.context["form"].errors) == {"item"}
    assert not Item.objects.exists()


def test_a_name_that_is_taken_is_said_beside_it(signed_in):
    build.place("bins")
    build.item("Bread Flour")

    response = signed_in.post(ADD, FLOUR)

    assert "already" in response.context["form"].errors["item"][0]
    assert Item.objects.count() == 1


def test_published_weights_are_found_by_their_words_with_their_source(signed_in):
    markup = page(signed_in, f"{ADD}?look_up=brown+sugar")

    # USDA SR28, NDB 19334: cup packed 220 g, cup unpacked 145 g
    assert "1 cup = 220 g" in markup
    assert "cup unpacked" in markup
    assert "USDA SR28" in markup
    assert 'value="brown sugar"' in markup


def test_chosen_weights_fill_the_fields_and_nothing_is_stored_yet(signed_in):
    # USDA SR28, NDB 01001: tbsp 14.2 g, cup 227 g, stick 113 g, in this order
    markup = page(signed_in, f"{ADD}?look_up=butter&food=01001&use=1&use=2")

    assert "1 cup = 227 g</textarea>" in markup
    assert "stick = 113 g</textarea>" in markup
    assert "tbsp = 14.2 g</textarea>" not in markup
    assert "taken from Butter, salted" in markup
    assert not Item.objects.exists()


@pytest.mark.parametrize("name", ["butter", "unsalted butter", "Yellow gold"])
def test_the_row_that_was_chosen_is_the_one_that_is_quoted(signed_in, name):
    # USDA SR28: a cup of butter is 227 g, salted (01001) or not (01145)
    chosen = f"{ADD}?look_up=butter&food=01145&use=1"
    entry = {**FLOUR, "item": name, "equivalents": "1 cup = 227 g", "place": ""}

    signed_in.post(chosen, entry)

    shown = page(signed_in, f"/shelves/{Item.objects.get().pk}/")
    assert "1 cup = 227 g <span" in shown
    assert "(Butter, without salt, USDA SR28" in shown


def test_unsalted_is_looked_for_as_without_salt(signed_in):
    butter = build.item("unsalted butter", equivalents="1 cup = 227 g")

    found = page(signed_in, f"{ADD}?look_up=unsalted+butter")

    assert "Butter, without salt" in found
    assert "Butter, salted" not in found
    assert "(Butter, without salt," in page(signed_in, f"/shelves/{butter.pk}/")


@pytest.mark.parametrize(
    "query", ["look_up=plutonium", "food=99999&use=0", "food=01001&use=77&use=x"]
)
def test_weights_that_are_not_there_fill_nothing(signed_in, query):
    markup = page(signed_in, f"{ADD}?{query}")

    assert "taken from" not in markup


def test_two_weights_of_one_unit_are_not_both_ticked(signed_in):
    markup = page(signed_in, f"{ADD}?look_up=brown+sugar")

    assert markup.count('name="use"') == 3
    assert markup.count(" checked") == 2


def test_an_item_is_changed_and_keeps_what_the_form_does_not_show(signed_in):
    build.place("bins")
    flour = build.item("flour", retired=True)

    signed_in.post(f"/shelves/{flour.pk}/change/", FLOUR | as_shown(flour))

    flour.refresh_from_db()
    assert flour.name == "bread flour"
    assert flour.own_units == "scoop = 6 oz"
    assert flour.retired


def test_what_is_stored_stands_in_the_form(signed_in):
    flour = build.item("flour", equivalents="1 cup = 125 g", allergens="wheat")

    markup = page(signed_in, f"/shelves/{flour.pk}/change/")

    assert "1 cup = 125 g</textarea>" in markup
    assert 'value="wheat"' in markup
    assert '<option value="mass" selected>' in markup


def test_an_item_is_retired_and_brought_back(signed_in):
    lard = build.item("lard")

    signed_in.post(f"/shelves/{lard.pk}/retire/", as_shown(lard))
    lard.refresh_from_db()
    assert lard.retired
    markup = page(signed_in, f"/shelves/{lard.pk}/")
    assert "Retired: lard. The history stays." in markup
    assert "Bring it back" in markup

    signed_in.post(f"/shelves/{lard.pk}/unretire/", as_shown(lard))
    lard.refresh_from_db()
    assert not lard.retired


@pytest.mark.parametrize("change", ["retire", "unretire"])
def test_looking_at_a_button_presses_nothing(signed_in, change):
    lard = build.item("lard")

    assert signed_in.get(f"/shelves/{lard.pk}/{change}/").status_code == 405


def test_something_made_here_is_not_changed_as_a_bought_item(signed_in):
    fudge = build.item("fudge", kind=Item.Kind.MADE)

    assert signed_in.get(f"/shelves/{fudge.pk}/change/").status_code == 404
    assert "Add a pack" not in page(signed_in, f"/shelves/{fudge.pk}/")


def test_a_part_is_added_from_the_page_of_its_whole(signed_in):
    eggs = build.item("eggs", measure="count")

    response = signed_in.post(
        f"/shelves/{eggs.pk}/parts/add/",
        {"part": "egg white", "yields": "33 g", "keeps_days": "4"},
    )

    white = Item.objects.get(kind=Item.Kind.PART)
    assert response.url == f"/shelves/{eggs.pk}/"
    assert (white.whole, white.part_yields_base) == (eggs, 33)
    assert "33 g from 1 egg, and it keeps 4 days" in page(signed_in, response.url)


def test_a_part_that_yields_nothing_readable_is_not_stored(signed_in):
    eggs = build.item("eggs", measure="count")

    response = signed_in.post(
        f"/shelves/{eggs.pk}/parts/add/", {"part": "white", "yields": "33"}
    )

    assert "has no unit" in response.context["form"].errors["yields"][0]
    assert Item.objects.count() == 1


def test_a_part_is_changed_on_its_own_page(signed_in):
    eggs = build.item("eggs", measure="count")
    white = build.part("white", whole=eggs, yields_base=33)

    signed_in.post(
        f"/shelves/{white.pk}/part/",
        {"part": "egg white", "yields": "30 g", "keeps_days": "2"} | as_shown(white),
    )

    white.refresh_from_db()
    assert (white.name, white.part_yields_base) == ("egg white", 30)
    assert "30 g from one" in page(signed_in, f"/shelves/{white.pk}/")
