"""Rescue says what to buy by hand, in what amounts, by when, for which cakes."""

from datetime import timedelta
from html import unescape

import pytest

from tests import build
from tests.build import MONDAY

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def torte():
    """A torte takes 400 g of butter and a rose; butter comes on Tuesday at the soonest.

    1,100 g are missing today, 700 without the tentative torte; nobody sells roses.
    """
    build.bakery(time_zone="UTC")
    butter = build.item("butter", own_units="stick = 4 oz", on_hand_base=500)
    rose = build.item("rose", measure="count", on_hand_base=4)
    build.pack(butter, build.supplier("Dairy"), size_base=1_000)
    row = build.cake("Torte", lines=[(butter, 400), (rose, 1)])
    build.planned_cake(row, due_on=MONDAY, reference="T-1", quantity=3)
    build.planned_cake(row, due_on=MONDAY, reference="T-2", status="tentative")
    build.planned_cake(row, due_on=MONDAY + timedelta(days=3), reference="T-3")
    return row


def page(browser, address="/rescue/"):
    response = browser.get(address)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def test_one_run_is_said_in_one_sentence(signed_in, torte):
    # butter for T-1 and T-2 today, a rose for T-3 on Thursday
    assert "One run for 2 items by today saves 3 cakes." in page(signed_in)


def test_amounts_are_those_of_a_shop_with_what_is_missing_beside_them(signed_in, torte):
    row = page(signed_in).split("<tr")[2]

    # 1,100 g are 2 lb and 6.8 oz
    assert ">3 lb</td>" in row
    assert ">2 lb + 7 oz</td>" in row
    assert "T-1, T-2" in row


def test_it_can_be_copied_as_plain_text(signed_in, torte):
    text = page(signed_in).split('id="rescue-text"')[1].split("</pre>")[0]

    assert "3 lb butter, by today, for T-1, T-2" in text.replace(" and ", ", ")
    assert "1 each rose, by Thursday, for T-3" in text
    assert "data-copy" in page(signed_in)
    assert "data-print" in page(signed_in)


def test_dropping_a_tentative_cake_is_said_and_not_done(signed_in, torte):
    markup = page(signed_in)

    # 700 g are 1 lb and 8.7 oz
    words = "Without T-2, which is tentative, only 1 lb + 9 oz would be missing."
    assert words in markup
    assert "Without T-1" not in markup


def test_what_nobody_sells_is_named_with_the_way_out(signed_in, torte):
    assert "No supplier sells rose: give each a pack" in page(signed_in)


def test_with_nothing_to_save_it_says_so(signed_in):
    build.bakery(time_zone="UTC")

    assert "Nothing has to be bought by hand." in page(signed_in)


def test_queries_do_not_grow_with_what_is_lacking(
    signed_in, torte, django_assert_num_queries
):
    page(signed_in)
    with django_assert_num_queries(11):
        page(signed_in)

    for number in range(6):
        item = build.item(f"item {number}")
        cake = build.cake(f"Cake {number}", lines=[(item, 10)])
        build.planned_cake(cake, due_on=MONDAY, reference=f"C-{number}")
    with django_assert_num_queries(11):
        page(signed_in)


@pytest.mark.parametrize("address", ["/", "/shortfalls/"])
def test_pages_that_say_too_late_lead_here(signed_in, torte, address):
    assert 'href="/rescue/"' in page(signed_in, address)


@pytest.mark.parametrize("address", ["/", "/shortfalls/"])
def test_where_a_delivery_saves_everything_nothing_leads_here(signed_in, address):
    build.bakery(time_zone="UTC")
    butter = build.item("butter")
    build.pack(butter, build.supplier("Dairy"))
    cake = build.cake("Torte", lines=[(butter, 400)])
    build.planned_cake(cake, due_on=MONDAY + timedelta(days=3), reference="T-1")

    markup = page(signed_in, address)

    assert "Torte" in markup
    assert 'href="/rescue/"' not in markup
