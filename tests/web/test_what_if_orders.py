"""What if plans by the usual rule, and says so where other orders are in force."""

from datetime import timedelta

import pytest

from planning.models import PlannedCake
from planning.orders.drafting import draft_found_orders
from planning.search.searching import SearchRequest, go_by_usual_rule, start_search
from planning.search.worker import look_for_orders
from stock.models import Bakery
from tests import build
from tests.build import MONDAY, NOON
from tests.web.orders.pages import text

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

USUAL = "Both sides are planned by the usual rule."


@pytest.fixture(autouse=True)
def in_force():
    """The usual rule's two trucks come to $43; those in force, on one, to $28."""
    build.dairy_kitchen()
    search_id = start_search(SearchRequest("quick"), at=NOON)
    look_for_orders(search_id, now=lambda: NOON)
    at = NOON + timedelta(minutes=5)
    draft_found_orders(search_id=search_id, bakery=Bakery.objects.get(), at=at)


def tried(browser, kind, **entry):
    sent = {"change": kind, **{f"{kind}-{name}": text for name, text in entry.items()}}
    return text(browser.post("/what-if/", sent, follow=True))


def another_price(browser):
    return tried(browser, "price", supplier="Dairy", item="butter", price="11")


def test_the_orders_in_force_are_named_beside_the_usual_rules(signed_in):
    shown = another_price(signed_in)

    assert "Orders in all $43.00 $44.00" in shown
    assert f"{USUAL} The orders in force come to $28.00." in shown


def test_where_the_usual_rule_is_in_force_nothing_is_said(signed_in):
    go_by_usual_rule()

    assert USUAL not in another_price(signed_in)


def test_looking_further_ahead_the_day_is_named_up_to_which_they_go(signed_in):
    cake = PlannedCake.objects.earliest("due_on").cake

    shown = tried(
        signed_in,
        "add-cake",
        reference="W-1",
        cake=cake.item.name,
        due=(MONDAY + timedelta(days=30)).isoformat(),
        quantity="1",
        size="",
    )

    # a plan looks 14 days ahead, the first of them today
    assert f"{USUAL} The orders in force, up to Sun May 17, come to $28.00." in shown
