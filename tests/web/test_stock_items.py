"""The page of an item: what it says of its measures, its packs and its history."""

from datetime import timedelta
from decimal import Decimal

import pytest

from stock.models import Item, Movement
from tests import build
from tests.build import MONDAY, NOON
from tests.web.reading import page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def test_an_item_says_how_it_is_measured_and_where_the_figures_are_from(signed_in):
    butter = build.item(
        "butter",
        equivalents="1 cup = 227 g; 1 tbsp = 15 g",
        own_units="stick = 4 oz",
        allergens="milk",
    )

    markup = page(signed_in, f"/shelves/{butter.pk}/")

    assert "1 cup = 227 g <span" in markup
    assert "(Butter, salted, USDA SR28" in markup
    assert '1 tbsp = 15 g <span class="soft">(the bakery\'s own)' in markup
    assert "1 stick = 4 oz" in markup
    assert "<strong>Contains, from the labels entered:</strong> milk." in markup
    assert "read the label again at every delivery" in markup


def test_an_item_without_allergens_is_not_said_to_be_free_of_them(signed_in):
    sugar = build.item("sugar")

    markup = page(signed_in, f"/shelves/{sugar.pk}/")

    assert "No allergens have been entered from its label." in markup
    assert "free" not in markup.lower()


def test_who_sells_it_and_what_a_pound_costs(signed_in):
    butter = build.item("butter")
    dairy = build.supplier("Valley Dairy")
    # 36 lb for 118.80 is 3.30 a pound
    build.pack(
        butter,
        dairy,
        label="case 36 x 1 lb",
        holds="36 lb",
        size_base=36 * 453.59237,
        price="118.80",
        price_breaks="10: 115",
        minimum_packs=2,
        preferred=True,
    )

    markup = page(signed_in, f"/shelves/{butter.pk}/")

    assert "Valley Dairy" in markup
    assert "case 36 x 1 lb, preferred" in markup
    assert "$118.80" in markup
    assert "$3.30/lb" in markup
    assert "at least 2; from 10: $115.00 each" in markup


def test_an_item_nobody_sells_says_so(signed_in):
    salt = build.item("salt")

    markup = page(signed_in, f"/shelves/{salt.pk}/")

    assert "Nobody sells it yet: add a pack." in markup
    assert "Not counted: nobody has said yet what is there." in markup
    assert "Nothing has been recorded yet." in markup


def test_less_than_nothing_is_a_sentence_on_its_page(signed_in):
    cream = build.item("cream", place=build.place())
    build.stock(cream, -250, kind=Movement.Kind.USED)

    markup = page(signed_in, f"/shelves/{cream.pk}/")

    assert "250 g below zero: more left than came in." in markup


def test_what_came_and_left_says_who_when_and_why(signed_in):
    ben = build.user("ben")
    flour = build.item("flour", place=build.place("bins"))
    build.stock(flour, 5_000, at=NOON - timedelta(days=2), lot="L-1")
    build.stock(flour, -300, kind=Movement.Kind.WASTED, by=ben, note="spilled", at=NOON)

    markup = page(signed_in, f"/shelves/{flour.pk}/")

    assert "+5 kg" in markup
    assert "\N{MINUS SIGN}300 g" in markup
    assert markup.index("spilled") < markup.index("+5 kg")
    for words in ("Wasted", "From a workbook", "ben", "today noon", "L-1"):
        assert words in markup


def test_a_long_history_shows_its_latest_fifty_and_the_rest_on_demand(signed_in):
    flour = build.item("flour", place=build.place())
    for number in range(51):
        build.stock(flour, 1 + number, at=NOON - timedelta(hours=number))

    latest = page(signed_in, f"/shelves/{flour.pk}/")
    everything = page(signed_in, f"/shelves/{flour.pk}/?history=all")

    assert "The latest 50 entries" in latest
    assert "+51 g" not in latest
    assert "Show all entries" in latest
    assert "+51 g" in everything
    assert "Show all entries" not in everything


@pytest.mark.parametrize("rows", [1, 12])
def test_the_queries_do_not_grow_with_the_item(
    signed_in, django_assert_num_queries, rows
):
    lemons = build.item("lemons", measure="count")
    for number in range(rows):
        shelf = build.place(f"shelf {number}")
        build.stock(lemons, 5, place=shelf, use_by=MONDAY, lot=f"L-{number}")
        build.pack(lemons, build.supplier(f"supplier {number}"), called="box")
        build.part(f"part {number}", whole=lemons, yields_base=40)
        build.substitute(lemons, build.item(f"lime {number}", measure="count"))

    # who is signed in (2) and the bakery (1); then the item, its converter (2), the
    # places, its lots, when it was counted and moved (2), its packs, its movements,
    # its parts and its substitutes
    with django_assert_num_queries(15):
        page(signed_in, f"/shelves/{lemons.pk}/")


@pytest.mark.parametrize(
    "address",
    ["", "change/", "set/", "parts/add/", "part/", "packs/add/"],
)
def test_an_item_that_is_not_there_is_a_page_of_regret(signed_in, address):
    assert signed_in.get(f"/shelves/4711/{address}").status_code == 404


def test_names_are_shown_as_they_are_written(signed_in):
    odd = build.item('=1+1 "<b>" é', allergens="<i>milk</i>")

    markup = signed_in.get(f"/shelves/{odd.pk}/").content.decode()

    assert "=1+1 &quot;&lt;b&gt;&quot; é" in markup
    assert "<b>" not in markup
    assert "<i>" not in markup


@pytest.mark.parametrize(
    ("base", "words"),
    [
        (4_500, "about 10 lb (4,500 g)"),  # 10 lb are 4,535.9237 g
        (4_536, "10 lb (4,536 g)"),
        (907.1847, "2 lb (907.1847 g)"),
    ],
)
def test_a_rounded_quantity_on_hand_is_about_so_much(signed_in, base, words):
    flour = build.item("flour", on_hand_base=base)
    Item.objects.update(speaks="customary")

    shown = page(signed_in, f"/shelves/{flour.pk}/")

    state = shown.partition('<p class="state state-well"><strong>')[2]
    assert state.startswith(f"{words}</strong>. ")


def test_a_lot_is_said_as_the_quantity_on_hand_above_it(signed_in):
    flour = build.item("flour", on_hand_base=Decimal("1238.8742"))  # 2 lb 11.7 oz
    Item.objects.update(speaks="customary")

    shown = page(signed_in, f"/shelves/{flour.pk}/").replace("\N{NO-BREAK SPACE}", " ")

    assert shown.count("about 2 3/4 lb (1,238.8742 g)") == 2
