"""What cannot be tried in What if says why, beside its field."""

from datetime import timedelta
from html import unescape

import pytest
from django.utils import timezone

from stock.models import Pack, Supplier
from tests import build
from tests.build import MONDAY, NOON
from tests.web.what_if.trying import (
    ADDRESS,
    FRIDAY,
    tried,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.mark.parametrize(
    ("kind", "entry", "column", "words"),
    [
        ("drop-cake", {"reference": "X"}, "reference", "No cake on the plan"),
        (
            "drop-cake",
            {"reference": "Tortes"},
            "reference",
            "No cake on the plan is called Tortes. Did you mean T-1 (Torte)?",
        ),
        (
            "on-hand",
            {"item": "buter", "amount": "1 lb"},
            "item",
            "There is no item called buter. Did you mean butter?",
        ),
        ("drop-cake", {"reference": ""}, "reference", "must not stay blank"),
        ("move-cake", {"reference": "T-1", "due": "soon"}, "due", "isn't a date"),
        (
            "on-hand",
            {"item": "salt", "amount": "1 lb"},
            "item",
            "There is no item called salt. There is only butter.",
        ),
        ("on-hand", {"item": "butter", "amount": "1 cup"}, "amount", "cup"),
        ("on-hand", {"item": "butter", "amount": "much"}, "amount", "much"),
        (
            "on-hand",
            {"item": "butter", "amount": "12/32 oz"},
            "amount",
            "12 x 32 oz or ⅜ oz",
        ),
        ("close-day", {"day": ""}, "day", "must not stay blank"),
        (
            "skip-delivery",
            {"supplier": "X", "day": "2026-05-05"},
            "supplier",
            "only Dairy",
        ),
        (
            "skip-delivery",
            {"supplier": "Diary", "day": "2026-05-05"},
            "supplier",
            "There is no supplier called Diary. Did you mean Dairy?",
        ),
        ("price", {"supplier": "Dairy", "item": "butter", "price": "-1"}, "price", ""),
        ("move-cake", {"reference": "T-1", "due": "2026-05-03"}, "due", "is over"),
        # the furthest that a plan looks from May 4 on is 366 days: to May 4
        (
            "move-cake",
            {"reference": "T-1", "due": "2027-05-05"},
            "due",
            "up to 2027-05-",
        ),
        ("close-day", {"day": "2026-05-03"}, "day", "2026-05-03 is over."),
        # May 1 was a Friday
        ("skip-delivery", {"supplier": "Dairy", "day": "2026-05-01"}, "day", "is over"),
        (
            "skip-delivery",
            {"supplier": "Dairy", "day": "2026-05-06"},
            "day",
            "2026-05-06 is a Wednesday: Dairy delivers on Tuesday and Friday only.",
        ),
    ],
)
def test_what_is_wrong_stands_beside_its_field(signed_in, kind, entry, column, words):
    markup = tried(signed_in, kind, **entry)

    error = markup.split(f'id="id_{kind}-{column}_error"')[1].split("</div>")[0]
    assert words in error
    assert "Side by side" not in markup


@pytest.mark.parametrize(
    ("kind", "entry", "words"),
    [
        (None, {}, "Dairy is closed tomorrow"),
        ("close-day", {}, "The bakery is closed tomorrow"),
    ],
)
def test_no_delivery_is_dropped_on_a_closed_day(signed_in, kind, entry, words):
    tuesday = (MONDAY + timedelta(days=1)).isoformat()
    if kind:
        tried(signed_in, kind, day=tuesday, **entry)
    else:
        Supplier.objects.update(closed_on=tuesday)

    markup = tried(signed_in, "skip-delivery", supplier="Dairy", day=tuesday)

    error = markup.split('id="id_skip-delivery-day_error"')[1].split("</div>")[0]
    assert f"{words}: no delivery comes then." in error


def test_what_is_on_order_is_dropped_on_whatever_day_it_comes(signed_in):
    wednesday = MONDAY + timedelta(days=2)
    pack = Pack.objects.get()
    build.order(
        pack.supplier, reference="2026-1", deliver_on=wednesday, lines=[(pack, 1)]
    )

    markup = tried(
        signed_in, "skip-delivery", supplier="Dairy", day=wednesday.isoformat()
    )

    assert "No delivery of Dairy: Wednesday. 2026-1 would not come." in markup


def test_an_order_that_is_sent_for_a_closed_day_is_named(signed_in):
    pack = Pack.objects.get()
    build.order(pack.supplier, reference="2026-1", deliver_on=FRIDAY, lines=[(pack, 1)])

    markup = tried(signed_in, "close-day", day=FRIDAY.isoformat())

    assert (
        "Closed: Friday. 2026-1 is sent for that day, and stays counted: ask for "
        "another day."
    ) in markup


def test_a_change_that_waited_until_its_day_was_over_is_no_more(signed_in, monkeypatch):
    tried(signed_in, "close-day", day=MONDAY.isoformat())
    monkeypatch.setattr(timezone, "now", lambda: NOON + timedelta(days=1))

    markup = unescape(signed_in.get(f"{ADDRESS}review/").content.decode())

    over = markup.partition("What can no longer be")[2]
    assert "2026-05-04 is over. Try a day from today on." in over


@pytest.mark.parametrize(
    ("changes", "column", "words"),
    [
        ({"reference": "t-1"}, "reference", "on the plan already"),
        ({"cake": "Gateau"}, "cake", "There is no cake"),
        ({"size": "huge"}, "size", "isn't a size"),
        ({"quantity": "0"}, "quantity", "1 or more"),
        ({"due": "2026-05-03"}, "due", "nothing can be baked for it now"),
    ],
)
def test_a_cake_that_cannot_be_added_says_why(signed_in, changes, column, words):
    entry = {
        "reference": "W-1",
        "cake": "Torte",
        "due": FRIDAY.isoformat(),
        "quantity": "1",
        "size": "",
    }
    markup = tried(signed_in, "add-cake", **entry | changes)

    error = markup.split(f'id="id_add-cake-{column}_error"')[1].split("</div>")[0]
    assert words in error
