"""An order is approved, sent, cancelled or started by hand on its pages."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import pytest
from django.urls import reverse

from planning.models import Order
from planning.orders.orders import Hand, approve_order, send_order
from stock.suppliers.packs import keep_packs, pack_entry
from tests import build
from tests.web.orders.drafts import FRIDAY, MONDAY_NOON, TUESDAY, State, draft
from tests.web.orders.pages import page, post, text

pytestmark = pytest.mark.django_db


def test_an_order_is_approved_reviewed_and_sent(site, mill, flour):
    order = draft(mill, (flour, 3))

    approved = post(site, "approve_order", order.pk, version=1)
    review = page(site, "send_order", order.pk)
    sent = post(site, "send_order", order.pk, version=2)

    assert "2026-014 is approved and can be sent." in text(approved)
    assert "Total $30.00" in review
    assert "It counts as on order from now on." in text(sent)
    assert "Sent today noon by Rosa. Comes tomorrow." in text(sent)
    assert "Save the lines" not in text(sent)


def answers(html):
    return re.findall(r'name="answered" value="([^"]*)"', html)


def test_under_the_minimum_an_order_is_approved_after_a_question(site, mill, flour):
    order = draft(mill, (flour, 2))

    asked = post(site, "approve_order", order.pk, version=1)
    approved = post(
        site,
        "approve_order",
        order.pk,
        version=1,
        answered=answers(asked.content.decode()),
    )

    assert "Approve 2026-014?" in text(asked)
    assert "Under the minimum it can't come, unless Mill, Sons & Co" in text(asked)
    assert "asks for $25.00 at least: $5.00 more." in text(asked)
    assert "2026-014 is approved and can be sent." in text(approved)


def test_what_the_cut_off_overtook_on_an_open_page_is_asked(site, mill, flour, clock):
    order = draft(mill, (flour, 3))
    post(site, "approve_order", order.pk, version=1)
    clock["now"] = MONDAY_NOON + timedelta(hours=3)

    asked = post(site, "send_order", order.pk, version=2)  # opened before 2 pm
    order.refresh_from_db()
    assert order.state == "approved"
    assert "Will Mill, Sons & Co still bring it? Phone first." in text(asked)
    assert "Sent anyway" in text(asked)

    sent = post(site, "send_order", order.pk, version=2, answered=["cut-off"])
    assert "2026-014 is sent." in text(sent)


def test_a_draft_of_a_day_that_is_over_gets_a_new_day(site, mill, flour, clock):
    order = draft(mill, (flour, 3))
    clock["now"] = MONDAY_NOON + timedelta(days=2)

    shown = page(site, "order", order.pk)
    refused = post(site, "approve_order", order.pk, version=1)
    moved = post(site, "order_new_day", order.pk, version=1, due_on="2026-05-08")
    again = post(site, "order_new_day", order.pk, version=1, due_on="2026-05-08")
    approved = post(site, "approve_order", order.pk, version=2)

    assert "Approve this order" not in shown
    assert "2026-014 was for Tue May 5, which is over." in text(refused)
    assert "2026-014 is for Friday now." in text(moved)
    assert "2026-014 is for Friday now." in text(again)
    assert "2026-014 is approved and can be sent." in text(approved)
    assert [line.due_on for line in order.lines.all()] == [FRIDAY]
    order.refresh_from_db()
    assert order.order_by == MONDAY_NOON + timedelta(days=3, hours=2)


def test_a_new_day_that_another_draft_has_is_refused(site, mill, flour):
    order = draft(mill, (flour, 3))
    build.order(mill, reference="2026-015", deliver_on=FRIDAY, state=State.DRAFT)

    moved = post(site, "order_new_day", order.pk, version=1, due_on="2026-05-08")

    assert "2026-015 waits for this delivery of" in text(moved)
    order.refresh_from_db()
    assert order.deliver_on == TUESDAY


def test_what_rosa_has_sent_is_not_sent_again(client, mill, flour, rosa):
    order = draft(mill, (flour, 3))
    approve_order(Hand(order.pk, 1, MONDAY_NOON, rosa.pk))
    send_order(Hand(order.pk, 2, MONDAY_NOON, rosa.pk))
    client.force_login(build.user("ada"))

    response = post(client, "send_order", order.pk, version=2)

    assert "Rosa has sent 2026-014 already, at noon." in text(response)
    assert order.steps.filter(state="sent").count() == 1


def test_a_step_without_a_version_is_taken_by_nobody(site, mill, flour):
    order = draft(mill, (flour, 3))

    post(site, "approve_order", order.pk, version="one")
    post(site, "approve_order", order.pk)

    order.refresh_from_db()
    assert order.state == "draft"


def test_looking_at_a_step_takes_none(site, mill, flour):
    order = draft(mill, (flour, 3))

    url = reverse("planning:order_to_draft", args=[order.pk])
    assert site.get(url).status_code == 405
    site.get(reverse("planning:approve_order", args=[order.pk]))
    site.get(reverse("planning:send_order", args=[order.pk]))
    site.get(reverse("planning:cancel_order", args=[order.pk]))

    order.refresh_from_db()
    assert (order.state, order.version) == ("draft", 1)


def test_a_draft_is_dropped_and_brought_back(site, mill, flour):
    order = draft(mill, (flour, 3))
    order.steps.create(state=State.DRAFT, at=MONDAY_NOON)

    dropped = post(site, "cancel_order", order.pk, version=1)
    back = post(site, "order_to_draft", order.pk, version=2)

    assert "2026-014 is cancelled." in text(dropped)
    assert "Bring it back" in text(dropped)
    assert "2026-014 is a draft again." in text(back)


def test_cancelling_what_was_sent_says_that_the_supplier_has_to_be_told(
    site, mill, flour
):
    order = build.order(mill, reference="PO-7", deliver_on=FRIDAY, lines=[(flour, 3)])

    review = page(site, "cancel_order", order.pk)
    response = post(site, "cancel_order", order.pk, version=1)

    assert "Mill, Sons & Co has this order: call and tell them" in review
    assert "PO-7 is cancelled. Tell Mill, Sons & Co if nobody has." in text(response)
    assert "Bring it back" not in text(response)


def test_a_draft_that_is_gone_leads_back_to_the_orders(site, mill, flour, monkeypatch):
    order = draft(mill, (flour, 3))
    url = reverse("planning:approve_order", args=[order.pk])
    order.delete()

    response = site.post(url, {"version": 1}, follow=True)

    assert response.redirect_chain == [(reverse("planning:orders"), 302)]
    assert "This draft is no longer there" in text(response)


def test_an_order_is_started_by_hand_for_the_next_truck(site, flour):
    response = post(site, "start_order", supplier=flour.supplier_id, deliver_on="")

    order = Order.objects.get()
    assert (order.reference, order.deliver_on) == ("2026-001", TUESDAY)
    assert "Nothing is on it yet." in text(response)
    response = post(site, "approve_order", order.pk, version=1)
    assert "Nothing is on 2026-001 yet." in text(response)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"deliver_on": "2026-05-03"}, "That day is past."),
        ({"deliver_on": "9999-12-31"}, "9999-12-31 is too far away. Write a year"),
        ({"deliver_on": "2026-02-30"}, "Write a date, like 2026-05-09."),
        ({"supplier": ""}, "Choose whom to order from."),
        ({"supplier": "0"}, "Choose one from the list."),
        ({"deliver_on": "2026-05-05"}, "2026-014 waits for this delivery"),
    ],
)
def test_an_order_that_cannot_be_started_says_why(site, flour, fields, sentence):
    draft(flour.supplier, (flour, 3))
    usual = {"supplier": flour.supplier_id, "deliver_on": ""}

    response = post(site, "start_order", **{**usual, **fields})

    assert sentence in text(response)
    assert Order.objects.count() == 1


def seen_packs(site, name, order):
    """What the page's button sends of the packs that it shows."""
    html = site.get(reverse(f"planning:{name}", args=[order.pk])).content.decode()
    return unescape(re.search(r'name="packs" value="([^"]*)"', html)[1])


def test_a_draft_whose_pack_became_another_is_not_approved_unseen(site, mill, flour):
    order = draft(mill, (flour, 3))
    stale = seen_packs(site, "order", order)
    entry = pack_entry(flour) | {"holds": "5 kg", "code": "F5", "price": Decimal(12)}
    keep_packs([entry], ids=[flour.pk])

    refused = post(site, "approve_order", order.pk, version=1, packs=stale)
    order.refresh_from_db()
    assert order.state == "draft"
    approved = post(
        site,
        "approve_order",
        order.pk,
        version=1,
        packs=seen_packs(site, "order", order),
    )

    assert (
        "Packs of 2026-014 changed since you opened the page: 1 kg bag of flour: Holds "
        "was 1000 g, is 5 kg, Supplier code was 00-7, is F5, Price of one pack was 10, "
        "is 12. Look at it again, then go on."
    ) in text(refused)
    assert "2026-014 is approved" in text(approved)


def test_an_approved_order_whose_supplier_code_changed_is_not_sent_unseen(
    site, mill, flour
):
    order = draft(mill, (flour, 3))
    post(site, "approve_order", order.pk, version=1)
    stale = seen_packs(site, "send_order", order)
    keep_packs([pack_entry(flour) | {"code": "F5"}], ids=[flour.pk])

    refused = post(site, "send_order", order.pk, version=2, packs=stale)
    forged = post(site, "send_order", order.pk, version=2, packs="[]")
    fresh = seen_packs(site, "send_order", order)
    sent = post(site, "send_order", order.pk, version=2, packs=fresh)
    again = post(site, "send_order", order.pk, version=2, packs=stale)

    assert "Supplier code was 00-7, is F5." in text(refused)
    assert "Packs of 2026-014 changed. Look at it again" in text(forged)
    assert "2026-014 is sent." in text(sent)
    assert "2026-014 is sent." in text(again)  # a repeat is harmless
    assert order.steps.filter(state="sent").count() == 1
