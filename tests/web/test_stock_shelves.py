from datetime import timedelta
from html import unescape

import pytest
from django.utils.text import capfirst

from stock.models import Item, Movement
from tests import build
from tests.build import MONDAY, NOON
from tests.stock import counts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

LB = 453.59237


def page(browser, address="/shelves/"):
    response = browser.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\N{NO-BREAK SPACE}", " ")


def cells(markup, item_name):
    """The text of an item's row, tags left out."""
    row = next(
        part for part in markup.split("<tr") if f">{capfirst(item_name)}<" in part
    )
    return " ".join(
        words.strip() for words in (">" + row).replace(">", "<").split("<")[2::2]
    )


def test_an_empty_kitchen_says_what_to_do_first(signed_in):
    markup = page(signed_in)

    assert "Nothing has a place on these shelves yet." in markup
    assert 'href="/shelves/add/"' in markup


def test_what_is_there_is_said_as_people_hold_it_with_the_exact_figure(signed_in):
    walk_in = build.place("walk-in")
    butter = build.item("butter", place=walk_in)
    build.pack(
        butter, size_base=36 * LB, holds="36 lb", called="case", label="case 36 x 1 lb"
    )
    # 2 cases and 6 lb are 78 lb: 35,380.20486 g, kept to four places
    build.stock(butter, "35380.2049")

    row = cells(page(signed_in), "butter")

    assert "2 cases + 6 lb" in row
    assert "35,380.2049 g" in row


def test_never_counted_is_not_zero_and_nothing_left_is(signed_in):
    shelf = build.place("rack")
    build.item("saffron", place=shelf)
    build.item("salt", place=shelf, on_hand_base=500)
    salt = Item.objects.get(name="salt")
    build.stock(salt, -500, kind=Movement.Kind.USED)

    markup = page(signed_in)

    assert "not counted" in cells(markup, "saffron")
    assert "never" in cells(markup, "saffron")
    assert "none" in cells(markup, "salt")
    assert "not counted" not in cells(markup, "salt")


def test_what_came_but_was_never_counted_says_both(signed_in):
    sugar = build.item("sugar", place=build.place())
    build.stock(sugar, 900, kind=Movement.Kind.RECEIVED, at=NOON - timedelta(days=1))

    row = cells(page(signed_in), "sugar")

    assert "900 g" in row
    assert "never counted; last entry yesterday" in row


def test_a_count_that_agrees_with_the_record_is_a_count(signed_in):
    rack = build.place("rack")
    sugar = build.item("sugar", place=rack)
    build.item("saffron", place=rack)
    build.stock(sugar, 900, at=NOON - timedelta(days=6))
    count = counts.opened(rack, counted_at=NOON - timedelta(days=1))
    counts.enter(count, sugar, "900 g")
    counts.enter(count, Item.objects.get(name="saffron"), "none")
    counts.posted(count, at=NOON)

    markup = page(signed_in)

    assert "counted yesterday" in cells(markup, "sugar")
    assert "not counted" not in cells(markup, "saffron")
    assert "none" in cells(markup, "saffron")
    assert "Counted yesterday" in page(signed_in, f"/shelves/{sugar.pk}/")


def test_less_than_nothing_is_said_plainly(signed_in):
    cream = build.item("cream", place=build.place())
    build.stock(cream, -250, kind=Movement.Kind.USED)

    row = cells(page(signed_in), "cream")

    assert "\N{MINUS SIGN}250 g" in row
    assert "below zero: more left than came in" in row


def test_the_earliest_use_by_is_said_in_words_and_lots_are_told_apart(signed_in):
    cream = build.item("cream", measure="volume", place=build.place())
    build.stock(cream, 2_000, use_by=MONDAY + timedelta(days=9), lot="H-93")
    build.stock(cream, 1_000, use_by=MONDAY + timedelta(days=2), lot="H-88")

    row = cells(page(signed_in), "cream")

    assert "by Wednesday" in row
    assert "2 lots" in row
    assert "1 L, by Wednesday, lot H-88" in row
    assert "2 L, by Wed May 13, lot H-93" in row


def test_out_of_date_is_out_of_date_from_the_day_after(signed_in):
    shelf = build.place()
    today, gone = build.item("milk", place=shelf), build.item("yogurt", place=shelf)
    build.stock(today, 100, use_by=MONDAY)
    build.stock(gone, 100, use_by=MONDAY - timedelta(days=1))

    markup = page(signed_in)

    assert "by today" in cells(markup, "milk")
    assert "expired as of today" in cells(markup, "yogurt")


def test_how_old_the_last_count_is(signed_in):
    flour = build.item("flour", place=build.place())
    build.stock(flour, 100, kind=Movement.Kind.CORRECTED, at=NOON - timedelta(days=6))

    assert "counted 6 days ago" in cells(page(signed_in), "flour")


def test_places_stand_in_walking_order_and_items_in_theirs(signed_in):
    last, first = (
        build.place("cellar", walk_order=2),
        build.place("attic", walk_order=1),
    )
    build.item("zest jar", place=first, walk_order=1)
    build.item("anise", place=first, walk_order=2)
    build.item("boards", place=last)
    build.item("stray")

    markup = page(signed_in)

    order = ["<h2>attic", "Zest jar", "Anise", "<h2>cellar", "Boards", "Stray"]
    assert sorted(order, key=markup.index) == order
    assert "<h2>No usual place yet" in markup


def test_an_item_in_two_places_stands_in_both_and_once_in_the_list(signed_in):
    walk_in, freezer = build.place("walk-in"), build.place("freezer")
    butter = build.item("butter", place=walk_in, on_hand_base=2_000)
    build.stock(butter, 500, place=freezer)

    by_place, in_one_list = page(signed_in), page(signed_in, "/shelves/?view=list")

    assert by_place.count(">Butter<") == 2
    assert in_one_list.count(">Butter<") == 1
    assert "2.5 kg" in cells(in_one_list, "butter")


def test_a_whole_is_as_old_as_its_oldest_count(signed_in):
    walk_in, freezer = build.place("walk-in"), build.place("freezer")
    butter = build.item("butter", place=walk_in)
    build.stock(butter, 500, at=NOON - timedelta(days=9))
    build.stock(butter, 500, place=freezer, at=NOON - timedelta(days=1))

    row = cells(page(signed_in, "/shelves/?view=list"), "butter")

    assert "counted 9 days ago" in row


def test_an_emptied_place_that_is_not_its_own_is_left_out(signed_in):
    walk_in, freezer = build.place("walk-in"), build.place("freezer")
    butter = build.item("butter", place=walk_in, on_hand_base=2_000)
    build.stock(butter, 500, place=freezer)
    build.stock(butter, -500, place=freezer, kind=Movement.Kind.USED)

    markup = page(signed_in)

    assert markup.count(">Butter<") == 1
    assert "<h2>freezer" not in markup


@pytest.mark.parametrize(
    ("address", "found"),
    [
        ("/shelves/?words=FLOUR", {"bread flour", "cake flour"}),
        ("/shelves/?words=%C3%89CLAIR", {"éclair box"}),
        ("/shelves/?kind=packaging", {"éclair box"}),
        ("/shelves/?kind=made", {"ganache"}),
        ("/shelves/?kind=nonsense", {"bread flour", "cake flour", "éclair box"}),
        ("/shelves/?words=nothing+like+it", set()),
    ],
)
def test_the_list_can_be_narrowed(signed_in, address, found):
    for name in ("bread flour", "cake flour"):
        build.item(name)
    build.item("éclair box", kind=Item.Kind.PACKAGING, measure="count")
    build.item("ganache", kind=Item.Kind.MADE)

    markup = page(signed_in, address)

    names = {"bread flour", "cake flour", "éclair box", "ganache"}
    assert {name for name in names if f">{capfirst(name)}<" in markup} == found


def test_what_is_made_here_is_shown_once_it_stands_on_a_shelf(signed_in):
    build.item("flour")
    shelf = build.place()
    build.item("ganache", kind=Item.Kind.MADE, place=shelf, on_hand_base=400)
    build.item("fudge", kind=Item.Kind.MADE)

    markup = page(signed_in)

    assert ">Ganache<" in markup
    assert ">Fudge<" not in markup


def test_retired_items_are_hidden_until_they_are_asked_for(signed_in):
    build.item("flour")
    build.item("lard", retired=True)

    hidden, shown = page(signed_in), page(signed_in, "/shelves/?retired=yes")

    assert ">lard" not in hidden
    assert "Show 1 retired too" in hidden
    assert ">Lard, retired<" in shown
    assert "Hide what is retired" in shown


def test_names_are_shown_as_they_are_written(signed_in):
    build.item('=1+1 "<b>bold</b>" & co')

    markup = signed_in.get("/shelves/?words=%3Cb%3E").content.decode()

    assert "=1+1 &quot;&lt;b&gt;bold&lt;/b&gt;&quot; &amp; co" in markup
    assert 'value="&lt;b&gt;"' in markup
    assert "<b>bold" not in markup


@pytest.mark.parametrize("address", ["/shelves/", "/shelves/?view=list"])
@pytest.mark.parametrize("items", [1, 25])
def test_the_queries_do_not_grow_with_the_shelves(
    signed_in, django_assert_num_queries, address, items
):
    for number in range(items):
        shelf = build.place(f"place {number}")
        item = build.item(f"item {number}", place=shelf)
        build.stock(item, 100, use_by=MONDAY, lot="A")
        build.stock(item, 100, use_by=MONDAY, lot="B")
        build.pack(item, called="bag")

    # who is signed in (2) and the bakery (1); then places, items, their converters
    # (2), balances by shelf, lots, and when each shelf was last counted and moved
    with django_assert_num_queries(11):
        page(signed_in, address)


def test_a_stranger_is_asked_to_sign_in(client, db):
    response = client.get("/shelves/")

    assert response.status_code == 302
    assert response.url.startswith("/sign-in/")
