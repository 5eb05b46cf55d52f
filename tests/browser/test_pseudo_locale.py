"""The main pages have room for a language that is a third longer."""

import pytest
from django.test import Client
from django.urls import reverse

from planning.models import Order
from planning.orders.drafting import draft_what_is_needed
from planning.orders.orders import Hand, approve_order, send_order
from stock.counts.counting import open_count
from stock.models import Place
from stock.site import pseudo_locale
from tests.browser.conftest import NOW
from tests.browser.test_every_page import TOO_WIDE_PX, session_cookie

pytestmark = pytest.mark.browser

WIDTHS_PX = (390, 1280)
CUT_BUTTONS = """
() => [...document.querySelectorAll("button, .button, summary, .menu a")]
  .filter((each) => each.checkVisibility() && !each.closest(".for-ears, .skip"))
  .filter((each) => !each.matches(".for-ears, .skip"))
  .filter((each) => {
    const box = each.getBoundingClientRect();
    return each.scrollWidth > each.clientWidth + 1 && getComputedStyle(each).display
        !== "inline" || box.left < 0 || box.right > innerWidth + 1;
  })
  .map((each) => each.textContent.trim())
"""


@pytest.fixture(autouse=True)
def _spoken():
    with pseudo_locale.spoken():
        yield


@pytest.fixture
def addresses(demo_kitchen, baker):
    """The pages of a day's work, with an order to look at and one to receive."""
    draft_what_is_needed(bakery=demo_kitchen, at=NOW, by_id=baker.pk)
    draft, sent = Order.objects.filter(state=Order.State.DRAFT).order_by("pk")[:2]
    approve_order(Hand(sent.pk, sent.version, at=NOW, by_id=baker.pk))
    sent.refresh_from_db()
    send_order(Hand(sent.pk, sent.version, at=NOW, by_id=baker.pk))
    place = Place.objects.order_by("walk_order").first()
    count = open_count(counted_at=NOW, at=NOW, place_ids=[place.pk], by_id=baker.pk)
    return [
        "/",
        reverse("planning:orders"),
        reverse("planning:order", args=[draft.pk]),
        reverse("planning:receive_order", args=[sent.pk]),
        reverse("planning:shortfalls"),
        reverse("planning:making"),
        reverse("stock:shelves"),
        reverse("stock:count_sheet", args=[count.pk, place.pk]),
    ]


@pytest.fixture
def visitor_cookie(baker, live_server):
    """Whoever is signed in, as a cookie for the browser."""
    client = Client()
    client.force_login(baker)
    return session_cookie(client, live_server.url)


def test_longer_words_have_room(addresses, visitor_cookie, open_tab):
    tab = open_tab(reduced_motion="reduce")
    tab.context.add_cookies([visitor_cookie])

    troubles = []
    for address in addresses:
        tab.goto(address)
        assert "⟦" in tab.locator("main").inner_text()
        for width_px in WIDTHS_PX:
            tab.set_viewport_size({"width": width_px, "height": 800})
            too_wide_px = tab.evaluate(TOO_WIDE_PX)
            cut = tab.evaluate(CUT_BUTTONS)
            if too_wide_px > 0 or cut:
                troubles.append((address, width_px, too_wide_px, cut))

    assert troubles == []
