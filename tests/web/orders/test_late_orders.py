"""An order that should have come: its page offers another day, or closing it."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from tests import build
from tests.web.orders.drafts import FRIDAY, MONDAY_NOON
from tests.web.orders.pages import page, post, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def late(mill, flour):
    """Three bags of flour that should have come on Saturday."""
    return build.order(
        mill, reference="A-7", deliver_on=date(2026, 5, 2), lines=[(flour, 3)]
    )


def test_it_gets_a_new_day_on_its_page(site, late):
    shown = page(site, "order", late.pk)
    assert "It has not come New delivery day" in shown

    moved = post(site, "order_new_day", late.pk, version=1, due_on=str(FRIDAY))

    assert "A-7 comes on Friday now." in text(moved)
    assert "It has not come" not in text(moved)


def test_it_is_closed_on_its_page(site, late):
    closed = post(site, "close_order", late.pk, version=1)
    again = post(site, "close_order", late.pk, version=1)

    late.refresh_from_db()
    assert late.state == "closed"
    assert "A-7: Closed: 3 \N{MULTIPLICATION SIGN} 1 kg bag of flour." in text(closed)
    assert "It has not come" not in text(again)
    assert late.deliveries.count() == 1


@pytest.mark.parametrize(
    ("due_on", "said"),
    [(str(MONDAY_NOON.date() - timedelta(days=1)), "has passed"), ("soon", "date")],
)
def test_a_day_that_cannot_be_is_refused(site, late, due_on, said):
    response = post(site, "order_new_day", late.pk, version=1, due_on=due_on)

    assert said in text(response)
    late.refresh_from_db()
    assert late.version == 1


def test_today_says_it_once(site, late, flour):
    shown = text(site.get(reverse("planning:today")))

    assert shown.count("A-7") == 2  # beside its supplier, and in its button for ears
    assert shown.count("Late by 2 days") == 1


def test_what_comes_in_time_offers_neither(site, mill, flour):
    order = build.order(mill, deliver_on=FRIDAY, lines=[(flour, 3)])

    assert "It has not come" not in page(site, "order", order.pk)
