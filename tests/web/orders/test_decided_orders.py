"""What the pages say of orders that wait to be sent: never that it is to be bought."""

from datetime import timedelta

import pytest
from django.urls import reverse

from planning.models import Order
from planning.orders.orders import Hand, approve_order, set_packs
from tests.build import NOON
from tests.web.orders.pages import page, post, text

pytestmark = pytest.mark.django_db


@pytest.fixture
def approved(site, cakes):
    """Three bags for Friday's cakes, drafted as suggested and approved."""
    post(site, "draft_orders")
    order = Order.objects.get()
    return approve_order(Hand(order.pk, order.version, NOON))


def test_today_says_to_send_an_approved_order(site, approved):
    shown = text(site.get(reverse("planning:today")))

    assert "Send by today 2:00 pm" in shown
    assert "Mill, Sons & Co , 2026-001, 1 line, arrives tomorrow." in shown
    assert "Send 2026-001 by today 2:00 pm." in shown
    assert "Order by" not in shown


def test_shortfalls_name_the_order_that_brings_it(site, approved):
    shown = page(site, "shortfalls")

    assert "Send 2026-001 to Mill, Sons & Co" in shown
    assert "order from Mill" not in shown


def test_what_is_approved_is_no_longer_to_be_bought(site, approved):
    shown = page(site, "orders")

    assert "Nothing more to buy. 2026-001 is approved: send it." in shown
    assert "in all, delivery included" not in shown
    assert "is drafted" not in shown
    assert "What to order, the soonest first" not in shown
    assert "Approved, to be sent" in shown


def test_orders_say_what_a_changed_draft_lacks(site, cakes):
    post(site, "draft_orders")
    order = Order.objects.get()
    pack_id = order.lines.get().pack_id
    set_packs(Hand(order.pk, order.version, NOON), {pack_id: 2})

    shown = page(site, "orders")

    assert (
        "2026-001 was changed by hand, so it stays as it is. The plan asks for "
        "1 \N{MULTIPLICATION SIGN} 1 kg bag of flour more."
    ) in shown


def test_an_approved_order_past_its_cut_off_is_said_to_count_for_nothing(
    site, approved, clock
):
    clock["now"] = NOON + timedelta(hours=2, minutes=1)
    words = "Approved order 2026-001, from Mill, Sons & Co for Tue May 5, was not sent"

    for name in ("orders", "today", "shortfalls"):
        assert words in page(site, name)
