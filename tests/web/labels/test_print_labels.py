"""Labels of what was made, opened or received, as they will be printed."""

from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse
from django.utils import timezone

from stock.models import Lot
from tests import build
from tests.build import MONDAY, NOON
from tests.planning.bakes import make, undo
from tests.web.orders.pages import post, words
from tests.web.reading import as_shown

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOON)


@pytest.fixture
def site(client):
    build.bakery(time_zone="UTC", name="Quince & Rye")
    client.force_login(build.user("rosa"))
    return client


@pytest.fixture
def cream():
    return build.item(
        "heavy cream",
        place=build.place("walk-in"),
        allergens="Milk",
        opened_keeps_days=3,
    )


@pytest.fixture
def lot(cream):
    lot_id = build.stock(
        cream, 900, lot="C7", use_by=MONDAY + timedelta(days=20), kind="received"
    )
    return Lot.objects.get(pk=lot_id)


def shown(site, *lots, **asked):
    query = {"lot": [lot.pk for lot in lots], **asked}
    response = site.get(reverse("planning:print_labels"), query)
    assert response.status_code == 200
    return response.content.decode()


def labels(markup):
    return [words(part) for part in markup.split('<article class="label')[1:]]


def test_a_received_lot_says_its_day_its_last_day_lot_and_allergens(site, lot):
    (label,) = labels(shown(site, lot))

    assert "Heavy cream" in label
    assert "Use by Sun May 24, 2026" in label
    assert "Received Mon May 4 · Lot C7" in label
    assert "Contains, from the labels entered: milk" in label
    assert f"1726052491LOT{lot.pk}" in label


def test_an_opened_lot_is_marked_with_the_day_it_was_opened(site, lot):
    (label,) = labels(shown(site, lot, what="opened", on="2026-05-03"))

    assert "Opened Sun May 3" in label
    assert "Use by Tue May 5, 2026" in label  # three days, the first among them
    assert f"1726050591LOT{lot.pk}" in label


def test_how_long_it_keeps_opened_is_left_to_the_pen_where_nobody_entered_it(
    site, lot, cream
):
    cream.opened_keeps_days = None
    cream.save()

    (label,) = labels(shown(site, lot, what="opened"))

    assert "May 24" not in label
    assert "Opened Mon May 4" in label
    assert f" 91LOT{lot.pk}" in label


@pytest.mark.parametrize(
    ("asked", "sentence", "use_by"),
    [
        ({"use_by": "2026-05-06"}, "", "Use by Wed May 6"),
        ({"use_by": "2026-06-30"}, "the maker's date, Sun May 24, comes", "Sun May 24"),
        ({"use_by": "2026-05-01"}, "before the day it was opened", "Use by Wed May 6"),
        ({"on": "2026-05-09"}, "that day is still to come", "Use by Wed May 6"),
        ({"on": "May 31st"}, "May 31st", "Use by Wed May 6"),
    ],
)
def test_a_typed_date_of_something_opened_is_checked(
    site, lot, asked, sentence, use_by
):
    markup = shown(site, lot, what="opened", **asked)

    assert sentence in unescape(markup)
    assert use_by in labels(markup)[0]


def test_what_was_made_says_its_batch_and_the_allergens_of_its_recipe(site, cream):
    build.stock(cream, 5_000)
    filling = build.recipe("filling", lines=[(cream, 500)], keeps_days=4)
    bake = make(filling)
    made = bake.lines.get(amount_base__gt=0).lot

    (label,) = labels(shown(site, made))

    assert "Made Mon May 4 · Lot M" in label
    assert "Use by Thu May 7, 2026" in label
    assert "Contains, from the labels entered: milk" in label


def test_what_was_undone_did_not_make_it(site, cream):
    build.stock(cream, 5_000)
    filling = build.recipe("filling", lines=[(cream, 500)])
    bake = make(filling)
    undo(bake)

    (label,) = labels(shown(site, bake.lines.get(amount_base__gt=0).lot))

    assert "Made" not in label


def test_copies_fill_a_sheet_from_its_first_free_place(site, lot):
    markup = shown(site, lot, copies="24", first="5")

    assert len(labels(markup)) == 24
    assert markup.count('class="label label-free"') == 4
    assert markup.count('class="label-sheet"') == 2
    assert "24 labels." in words(markup)


@pytest.mark.parametrize("copies", ["0", "49", "many", "9" * 400])
def test_so_many_copies_are_not_printed(site, lot, copies):
    markup = shown(site, lot, copies=copies)

    assert "Copies: enter 1 to 48. One is shown." in markup
    assert len(labels(markup)) == 1


def test_a_strip_has_no_places_to_skip(site, lot):
    markup = shown(site, lot, copies="2", first="5", paper="strip")

    assert len(labels(markup)) == 2
    assert "label-free" not in markup


def test_nothing_on_a_label_is_cut_off(site, cream, lot):
    cream.allergens = "; ".join(f"a very long allergen {n}" for n in range(8))
    cream.save()

    (label,) = labels(shown(site, lot))

    assert "Contains, from the labels entered: 8 allergens, see its page" in label


@pytest.mark.parametrize("query", ["", "?lot=0", "?lot=x", f"?lot={'9' * 400}"])
def test_without_a_lot_the_page_says_where_to_find_one(site, query):
    response = site.get(reverse("planning:print_labels") + query)

    assert "No lot was chosen." in response.content.decode()


def test_what_came_and_what_was_made_lead_to_their_labels(site, cream, lot):
    supplier = build.supplier()
    order = build.order(supplier, lines=[(build.pack(cream, supplier), 2)])
    received = post(site, "receive_order", order.pk, key="k", **as_shown(order))
    came = Lot.objects.exclude(pk=lot.pk).get()
    bake = make(build.recipe("filling", lines=[(cream, 1)]))
    made = bake.lines.get(amount_base__gt=0).lot
    making = site.get(reverse("planning:making") + f"?done={bake.pk}")

    assert f"/labels/?lot={came.pk}" in received.content.decode()
    assert f"/labels/?lot={made.pk}" in making.content.decode()
    page = site.get(reverse("stock:lot", args=[lot.pk])).content.decode()
    assert f"/labels/?lot={lot.pk}" in page
