"""The machine's clock jumps back an hour or a day: nothing is spoiled, nobody waits."""

import json
from datetime import timedelta
from decimal import Decimal

import pytest
from axes.models import AccessAttempt
from django.contrib.sessions.models import Session
from django.test import Client
from django.utils import timezone

from stock.counts.review import review
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.verifying import verify_ledger
from stock.models import Count
from tests import build
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item
from tests.web.counts.sending import entry
from tests.web.reading import as_shown

pytestmark = pytest.mark.django_db

BACK = [timedelta(hours=1), timedelta(days=1)]
BY = pytest.mark.parametrize("back", BACK)


@pytest.fixture
def clock(monkeypatch):
    """Set the pages' clock to a moment."""

    def set_to(moment):
        monkeypatch.setattr(timezone, "now", lambda: moment)

    set_to(NOON)
    return set_to


@pytest.fixture
def rack():
    return build.place("rack")


@pytest.fixture
def flour(rack):
    return build.item("flour", place=rack)


def on_hand(item):
    return on_hand_base_by_item().get(item.pk)


@BY
def test_what_is_said_to_be_on_hand_is_on_hand(clock, signed_in, flour, rack, back):
    set_on_hand(OnHandRow(flour.pk, rack.pk, Decimal(5_000)))
    clock(NOON - back)
    set_on_hand(OnHandRow(flour.pk, rack.pk, Decimal(3_000)))

    shown = signed_in.get(f"/shelves/{flour.pk}/").context["on_hand"]
    assert shown.base == Decimal(3_000)
    clock(NOON + timedelta(hours=1))
    set_on_hand(OnHandRow(flour.pk, rack.pk, Decimal(3_000)))
    assert on_hand(flour) == Decimal(3_000)
    assert verify_ledger().is_whole


@BY
def test_a_shelf_that_was_counted_can_be_counted_again(
    clock, signed_in, flour, rack, back
):
    count_page(signed_in, flour, "5 kg")
    clock(NOON - back)

    count_page(signed_in, flour, "3 kg")

    assert Count.objects.filter(state=Count.State.POSTED).count() == 2
    assert on_hand(flour) == Decimal(3_000)
    assert verify_ledger().is_whole


@BY
def test_a_count_goes_on_whose_clock_was_set_back_meanwhile(
    clock, signed_in, flour, rack, back
):
    build.stock(flour, 4_000, at=NOON - timedelta(minutes=5))
    signed_in.post("/count/", {"places": [rack.pk]})
    clock(NOON - back)

    finish(signed_in, Count.objects.get(), flour, "3 kg")

    assert on_hand(flour) == Decimal(3_000)


def count_page(browser, item, text):
    browser.post("/count/", {"places": [item.place_id]})
    count = Count.objects.latest("pk")
    assert count.state == Count.State.OPEN
    finish(browser, count, item, text)


def finish(browser, count, item, text):
    body = json.dumps({"entries": [entry(count, item, text)]})
    browser.post("/count/entries/", body, content_type="application/json")
    browser.post(f"/count/{count.pk}/done/")
    shown = review(count.pk).shown
    browser.post(f"/count/{count.pk}/post/", {"shown": shown})
    count.refresh_from_db()
    assert count.state == Count.State.POSTED


@BY
def test_whoever_is_signed_in_stays_so(clock, signed_in, back):
    assert Session.objects.count() == 1
    clock(NOON - back)

    assert signed_in.get("/shelves/").status_code == 200


@BY
def test_wrong_passwords_from_the_future_hold_nobody_up(back):
    build.user("ada", password="flour and water")
    for _ in range(5):
        Client().post("/sign-in/", {"username": "ada", "password": "wrong"})
    # Its library asks the machine's clock, so it is its record that is in the future.
    AccessAttempt.objects.update(attempt_time=timezone.now() + back)

    ada = Client()
    answer = ada.post("/sign-in/", {"username": "ada", "password": "flour and water"})

    assert answer.status_code == 302


@BY
def test_a_form_that_was_opened_before_is_saved_after(clock, signed_in, rack, back):
    seen = as_shown(rack)
    clock(NOON - back)

    signed_in.post(f"/shelves/places/{rack.pk}/", {"place": "dry rack"} | seen)

    rack.refresh_from_db()
    assert rack.name == "dry rack"
