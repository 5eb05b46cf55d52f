"""A shelf to count, two people, and a phone for each of them."""

from datetime import timedelta

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from stock.counts import counting
from tests import build
from tests.browser.counting.phones import (
    PHONE,
)


@pytest.fixture
def shelf(transactional_db):
    """Butter by the case of 10 kg, flour by the bag of 20 kg, eggs by the flat."""
    place = build.place("walk-in")
    at = timezone.now() - timedelta(days=1)
    for name, measure, own, base in (
        ("butter", "mass", "case = 10 kg", 20_000),
        ("flour", "mass", "bag = 20 kg", 60_000),
        ("eggs", "count", "flat = 30 each", 90),
    ):
        item = build.item(name, measure=measure, own_units=own, place=place)
        build.stock(item, base, place=place, at=at)
    return place


@pytest.fixture
def count(shelf):
    now = timezone.now()
    return counting.open_count(counted_at=now, at=now)


@pytest.fixture
def phone(open_tab, live_server):
    """Open a phone in the hand of somebody who has signed in on it."""
    cookie = settings.SESSION_COOKIE_NAME

    def in_the_hand_of(person, script=None):
        client = Client()
        client.force_login(person)
        tab = open_tab(**PHONE)
        session = client.cookies[cookie].value
        tab.context.add_cookies(
            [{"name": cookie, "value": session, "url": live_server.url}]
        )
        if script:
            tab.context.add_init_script(script)
        return tab

    return in_the_hand_of


@pytest.fixture
def ada(transactional_db):
    return build.user("ada")


@pytest.fixture
def ben(transactional_db):
    return build.user("ben")
