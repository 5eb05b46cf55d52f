"""The ticket of a cake: what it says, and what changed since it was printed."""

import re

import pytest

from planning.models import CakeTicket
from tests.planning.traced import traced_kitchen
from tests.web.reading import page, told

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def kitchen():
    return traced_kitchen()


@pytest.fixture
def address(kitchen):
    return f"/bake-plan/{kitchen.planned.pk}/ticket/"


def plain(markup):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", markup))


def test_the_ticket_says_what_the_cake_is_and_contains(signed_in, kitchen, address):
    kitchen.planned.note = "For Rosa Bell, 555 0100"
    kitchen.planned.save()

    shown = plain(page(signed_in, address))

    assert "Ticket 2122" in shown
    assert "Honey cake, Tue May 5." in shown
    assert "Contains, from the labels entered: wheat." in shown
    assert "From the lots that went in." in shown
    assert "read the label again at every delivery" in shown
    assert "Rosa" not in shown
    assert "free from" not in shown.casefold()


def test_a_label_that_changes_after_printing_is_said(signed_in, kitchen, address):
    kitchen.planned.refresh_from_db()
    sent = {"shown": "wheat", "version": kitchen.planned.version}
    said = told(signed_in, signed_in.post(f"{address}print/", sent))
    told(signed_in, signed_in.post(f"{address}print/", sent))
    before = plain(page(signed_in, address))
    kitchen.flour.allergens = "barley"
    kitchen.flour.save()

    shown = plain(page(signed_in, address))
    refused = told(signed_in, signed_in.post(f"{address}print/", sent))

    assert refused == [
        "What is in it changed since this page was opened. Print it again."
    ]
    assert said == ["Noted. Changes from now on show here."]
    assert CakeTicket.objects.count() == 1
    assert "Printed today noon, ada." in before
    assert "Since the ticket was printed" not in before
    assert "Since the ticket was printed: adds barley. Print it again." in shown
    assert "no longer on a label: wheat." in shown


def test_a_cakes_page_leads_to_its_ticket(signed_in, kitchen, address):
    shown = page(signed_in, f"/bake-plan/{kitchen.planned.pk}/")

    assert f'href="{address}"' in shown


def test_a_cake_that_is_gone_has_no_ticket(signed_in, db):
    assert signed_in.get("/bake-plan/999/ticket/").status_code == 404
    assert signed_in.post("/bake-plan/999/ticket/print/").status_code == 404
