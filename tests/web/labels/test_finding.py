"""A label scanned on Waste, Move or Holds leads to its item and its lot."""

import pytest
from django.urls import reverse
from django.utils import timezone

from stock.labels.printing import lot_text
from stock.models import Lot
from tests import build
from tests.build import MONDAY, NOON
from tests.web.reading import told

pytestmark = pytest.mark.django_db

GTIN = "12345678901231"


@pytest.fixture(autouse=True)
def at_noon(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOON)


@pytest.fixture
def site(client):
    build.bakery(time_zone="UTC")
    client.force_login(build.user("rosa"))
    return client


@pytest.fixture
def butter():
    item = build.item("butter", place=build.place("walk-in"))
    build.pack(item, label="case", gtin=GTIN)
    return item


@pytest.fixture
def lot(butter):
    lot_id = build.stock(butter, 900, lot="AB12", use_by=MONDAY)
    build.stock(butter, 900, lot="AB13", use_by=MONDAY)
    return Lot.objects.get(pk=lot_id)


def scan(site, label, asked="waste"):
    return site.get(reverse("stock:find_label"), {"for": asked, "label": label})


@pytest.mark.parametrize("page", ["waste", "moves", "holds"])
def test_the_pages_have_the_field(site, lot, page):
    shown = site.get(reverse(f"stock:{page}")).content.decode()

    assert 'action="/labels/find/"' in shown
    assert "Scan a label" in shown


def test_a_printed_label_leads_to_its_lot(site, lot):
    text = lot_text(lot.pk, MONDAY)
    source = f"?source={lot.item.place_id}-{lot.pk}"

    assert scan(site, text).url == f"/waste/{lot.item_id}/{source}"
    assert scan(site, text, "move").url == f"/move/{lot.item_id}/{source}"
    assert scan(site, text, "hold").url == f"/lots/{lot.pk}/"
    form = site.get(scan(site, text).url).content.decode()
    assert f'value="{lot.item.place_id}-{lot.pk}" selected' in form


@pytest.mark.parametrize(
    "label",
    [
        f"01{GTIN}17260504" + "10AB12",
        f"01{GTIN}10AB12",
        # On record until the day that its shelf life says, not the label's.
        f"01{GTIN}17260601" + "10AB12",
        "(10)AB12",
    ],
)
def test_a_case_label_leads_to_its_lot(site, lot, label):
    assert scan(site, label, "hold").url == f"/lots/{lot.pk}/"


def test_an_item_without_a_lot_leads_to_the_item(site, lot):
    assert scan(site, GTIN).url == f"/waste/{lot.item_id}/"
    assert scan(site, GTIN, "hold").url == f"/shelves/{lot.item_id}/"


def test_two_lots_that_fit_are_not_guessed_between(site, lot):
    response = scan(site, f"01{GTIN}17260504")

    assert response.url == f"/waste/{lot.item_id}/"
    build.stock(build.item("milk"), 5, lot="AB12", place=lot.item.place)
    both = scan(site, "(10)AB12")
    assert both.url == "/waste/"


@pytest.mark.parametrize(
    ("label", "sentence"),
    [
        ("", "Scan a label first."),
        ("416000336108", "Bar code 416000336108 is not known here. Choose the item."),
        ("(10)ZZ9", "No such lot is on record. Choose the item."),
        ("91LOT999999", "No such lot is on record. Choose the item."),
        ("12345678901232", "Bar code 12345678901232 was misread: its check digit"),
    ],
)
def test_what_is_not_known_is_said_where_it_was_scanned(site, lot, label, sentence):
    response = scan(site, label)

    assert response.url == "/waste/"
    (said,) = told(site, response)
    assert said.startswith(sentence)


def test_a_lot_that_is_not_found_is_said_on_the_item_s_page(site, lot):
    response = scan(site, f"01{GTIN}10ZZ9")

    assert told(site, response) == ["The lot on this label was not found. Choose it."]
    assert response.url == f"/waste/{lot.item_id}/"


def test_a_lot_of_which_nothing_is_left_leads_to_its_item(site, lot):
    build.stock(lot.item, -900, lot="AB12", use_by=MONDAY, kind="used")

    assert scan(site, lot_text(lot.pk, MONDAY)).url == f"/waste/{lot.item_id}/"
