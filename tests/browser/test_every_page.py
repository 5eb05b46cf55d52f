"""Every page of the demo kitchen, as a browser sees it: whole, quiet and readable.

The pages are found by following links from the first one, so that a new page is
looked at without a word here. One page of each address pattern is opened.
"""

import io
import re
from collections import defaultdict
from datetime import timedelta
from decimal import Decimal
from html import unescape
from typing import NamedTuple
from urllib.parse import urlsplit
from uuid import uuid4

import openpyxl
import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import resolve, reverse

from planning.feeds.addresses import make_address
from planning.models import Order, OrderSearch, Recipe
from planning.orders.drafting import draft_what_is_needed
from planning.orders.going_out import Question
from planning.orders.orders import Hand, approve_order, cancel_order
from planning.orders.revising import (
    Wanted,
    approve_revision,
    open_revision,
    set_revision,
)
from planning.search.worker import look_for_orders
from planning.web.urls import urlpatterns as planning_patterns
from stock.counts.counting import open_count, send_to_review
from stock.counts.entries import take_entries
from stock.counts.lines import EntryIn
from stock.holding.holding import hold_lot
from stock.models import Item, Place
from stock.moving.moving import MoveEntry, move_stock
from stock.wasting.wasting import WasteEntry, waste
from stock.web.urls import urlpatterns as stock_patterns
from tests import build
from tests.browser.conftest import NOW
from tests.planning.bakes import make

pytestmark = pytest.mark.browser

MOST_TRIED_PER_NAME = 6
NOTHING = "nothing to look at"
# What links, forms and scripts name.
ADDRESS = re.compile(r'"(/(?!static/)[^"#<>\s]*)(?:#[^"]*)?"')
OFFERED_ONLY_AFTER_A_CHANGE = {
    *("stock:unretire_item", "stock:unretire_supplier", "stock:unretire_pack"),
    "stock:set_time_zone",
    *("planning:unretire_recipe", "planning:cancel_copies", "stock:post_count"),
    *("planning:stop_order_search", "planning:leave_found_orders"),
    *("stock:undo_count", "stock:late_seen", "planning:undo_delivery"),
}
FOR_OTHER_PROGRAMS = {"planning:health", "planning:calendar_feed"}
ONLY_LEADS_ON = {"stock:find_label"}  # to what a label is on, or back

FEWEST_PAGES = 50
WIDTHS_PX = (1280, 390, 320)
HEIGHT_PX = 800
AXE = """
async () => {
  const rules = {"target-size": {enabled: true}};
  const found = await axe.run({resultTypes: ["violations"], rules});
  return found.violations.map(({id, nodes}) => [id, nodes[0].html]);
}
"""
UNLABELLED = """
() => [...document.querySelectorAll("input:not([type=hidden]), select, textarea")]
  .filter((field) => !field.labels.length
    && !field.ariaLabel && !field.getAttribute("aria-labelledby"))
  .map((field) => field.outerHTML)
"""
# A table that is read down its columns scrolls in its frame, if it must; its first
# column then stays, and what is not a day's figure is seen without scrolling.
CUT_OFF = """
() => [...document.querySelectorAll(".table-frame:has(table.across)")]
  .filter((frame) => frame.checkVisibility())
  .filter((frame) => frame.querySelectorAll("thead th").length <= 4)
  .filter((frame) => frame.scrollWidth > frame.clientWidth
    || frame.getBoundingClientRect().right > innerWidth)
  .map((frame) => `${frame.ariaLabel} by ${frame.scrollWidth - frame.clientWidth} px`)
"""
TOO_WIDE_PX = """
() => document.documentElement.scrollWidth - document.documentElement.clientWidth
"""


class Found(NamedTuple):
    """An address, and what looking at it gives."""

    address: str
    gives: str


@pytest.fixture
def visitor(baker):
    """Whoever follows the links, quickly, without a browser."""
    client = Client()
    client.force_login(baker)
    return client


@pytest.fixture
def busy_kitchen(demo_kitchen, baker):
    """The demo kitchen with orders in every state, better ones, and counts begun."""
    eggs = Item.objects.get(name="eggs")
    waste(WasteEntry(eggs.pk, eggs.place_id, Decimal(3), "dropped"), key="eggs")
    rack = Place.objects.exclude(pk=eggs.place_id).last()
    move_stock(MoveEntry(eggs.pk, eggs.place_id, rack.pk, Decimal(3)), key="eggs")
    make_address(baker.pk, seen=0, at=NOW)
    make(Recipe.objects.filter(is_cake=False)[0])
    hold_lot(eggs.lots.get().pk, reason="recall")
    draft_what_is_needed(bakery=demo_kitchen, at=NOW, by_id=baker.pk)
    drafts = Order.objects.filter(state=Order.State.DRAFT).order_by("deliver_on", "pk")
    for step, draft in zip((approve_order, cancel_order), drafts, strict=False):
        step(Hand(draft.pk, draft.version, at=NOW, by_id=baker.pk))
    # Past its cut-off its approval is asked about, on a page of its own.
    asked = Order.objects.filter(state=Order.State.DRAFT).first()
    asked.order_by = NOW - timedelta(hours=1)
    asked.save()
    revise_two(demo_kitchen, baker)
    search = OrderSearch.objects.create(
        effort="quick", started_at=NOW, heartbeat_at=NOW
    )
    look_for_orders(search.pk, now=lambda: NOW)
    _, counted = (
        open_count(counted_at=NOW, at=NOW, place_ids=[place.pk], by_id=baker.pk)
        for place in Place.objects.order_by("walk_order")[:2]
    )
    for by, text in ((baker, "40 lb"), (build.user("ada"), "50 lb")):
        said = said_of_flour(counted, by, text)
        take_entries([said], at=NOW, sent_by_id=by.pk)
    send_to_review(counted.pk)


def revise_two(bakery, by):
    """Revise two sent orders: a draft offers other steps than what is approved."""
    first, second = Order.objects.filter(state=Order.State.SENT).order_by("pk")[:2]
    for order in (first, second):
        packs = dict(order.lines.values_list("pack_id", "packs"))
        day = max(order.deliver_on, NOW.astimezone(bakery.zone).date())
        noted = Wanted(packs, day, "Ring at the gate.")
        open_revision(hand_on(order, by), bakery=bakery)
        set_revision(hand_on(order, by), noted, bakery=bakery)
    approve_revision(hand_on(second, by), bakery=bakery, answered=Question)


def hand_on(order, by):
    order.refresh_from_db()
    return Hand(order.pk, order.version, at=NOW, by_id=by.pk)


def said_of_flour(count, by, text):
    flour = Item.objects.get(name="all-purpose flour")
    return EntryIn(
        key=uuid4(),
        count_id=count.pk,
        place_id=flour.place_id,
        item_id=flour.pk,
        text=text,
        by_id=by.pk,
        device=by.username,
        sequence=1,
        entered_at=NOW,
    )


def starts(visitor):
    """Do what links cannot; return where it leads, and pages that not all are like.

    An item with parts, one with substitutes, and orders drafted, approved, sent.
    """
    tare = {"name": "bin", "weight": "2.15 lb"}
    visitor.post(reverse("stock:tares"), tare)
    closed = {"change": "close-day", "close-day-day": "2026-05-08"}
    visitor.post(reverse("planning:what_if"), closed)
    book = openpyxl.Workbook()
    book.active.title = "Places"
    book.active.append(["place", "walk_order"])
    book.active.append(["attic", 99])
    content = io.BytesIO()
    book.save(content)
    sent = {"file": SimpleUploadedFile("kitchen.xlsx", content.getvalue())}
    review = visitor.post(reverse("planning:kitchen_files"), sent).url
    items = Item.objects.filter(name__in=["eggs", "hazelnuts"])
    orders = [
        Order.objects.filter(state=state).first()
        for state in (Order.State.DRAFT, Order.State.APPROVED)
    ]
    orders += Order.objects.filter(state=Order.State.SENT).order_by("pk")[:3]
    return (
        "/",
        reverse("planning:what_if"),
        reverse("planning:order_search"),
        reverse("stock:holds"),
        review,
        *(reverse("stock:item", args=[item.pk]) for item in items),
        *(reverse("planning:order", args=[order.pk]) for order in orders),
    )


def follow_addresses(visitor, first):
    """Return by name the first address that gives a page, a file or a refusal to look.

    Links, forms and pieces of pages are followed, a few of each pattern.
    """
    found, tried, waiting = {}, defaultdict(set), list(first)
    while waiting:
        address = waiting.pop(0)
        name = resolve(urlsplit(address).path).view_name
        is_refused = name in found and found[name].gives == NOTHING
        tries = len(tried[name])
        if address in tried[name] or tries >= MOST_TRIED_PER_NAME or is_refused:
            continue
        tried[name].add(address)
        response = visitor.get(address)
        assert response.status_code in (200, 302, 405), (address, response.status_code)
        if response.status_code == 302:
            waiting.append(response.url)
            continue
        found.setdefault(name, Found(address, what_is_given(response)))
        if "text/html" in response["Content-Type"]:
            waiting += map(unescape, ADDRESS.findall(response.content.decode()))
    return found


def what_is_given(response):
    if response.status_code == 405:
        return NOTHING
    is_page = b"<!doctype html>" in getattr(response, "content", b"")[:200]
    return "page" if is_page else "file"


def names_of(patterns, app):
    return {f"{app}:{pattern.name}": pattern.pattern for pattern in patterns}


PATTERNS = names_of(stock_patterns, "stock") | names_of(planning_patterns, "planning")


def test_links_and_forms_lead_to_every_address(busy_kitchen, visitor):
    found = follow_addresses(visitor, starts(visitor))

    unseen = set(PATTERNS) - set(found)
    leading = FOR_OTHER_PROGRAMS | ONLY_LEADS_ON
    assert unseen == OFFERED_ONLY_AFTER_A_CHANGE | leading


@pytest.mark.parametrize("name", sorted(OFFERED_ONLY_AFTER_A_CHANGE))
def test_what_only_changes_things_cannot_be_looked_at(name, visitor):
    numbers = dict.fromkeys(PATTERNS[name].converters, 1)

    assert visitor.get(reverse(name, kwargs=numbers)).status_code == 405


def test_every_page_is_whole_quiet_and_readable(
    busy_kitchen, visitor, open_tab, live_server
):
    found = follow_addresses(visitor, starts(visitor))
    pages = {name: row.address for name, row in found.items() if row.gives == "page"}
    tab = open_tab(reduced_motion="reduce")  # colours change at once
    tab.context.add_cookies([session_cookie(visitor, live_server.url)])
    tab.add_init_script(Axe().axe_script)
    noise = listen_to(tab)

    troubles = []
    for name, address in pages.items():
        noise.clear()
        status = tab.goto(address).status
        said = [f"status {status}"] if status != 200 else []
        said += [*noise, *look_at(tab)]
        troubles += [f"{name} at {address}: {trouble}" for trouble in said]

    assert len(pages) >= FEWEST_PAGES
    assert not troubles, "\n".join(troubles)


def session_cookie(visitor, url):
    """Return the visitor's session as a cookie for the browser."""
    cookie = visitor.cookies[settings.SESSION_COOKIE_NAME]
    return {"name": cookie.key, "value": cookie.value, "url": url}


def listen_to(tab):
    """Return a list that fills with what the console says and what fails to load."""
    noise = []
    tab.on("console", lambda said: noise.extend(complaints(said)))
    tab.on("pageerror", lambda error: noise.append(f"script: {error}"))
    tab.on("requestfailed", lambda request: noise.append(f"failed: {request.url}"))
    tab.on("response", lambda answer: noise.extend(refusals(answer)))
    return noise


def complaints(said):
    is_calm = said.type not in ("error", "warning")
    return [] if is_calm else [f"console: {said.text}"]


def refusals(answer):
    return [f"{answer.status}: {answer.url}"] if answer.status >= 400 else []


def look_at(tab):
    """Yield what is wrong with a page at each width, and in both schemes."""
    if (count := tab.locator("h1").count()) != 1:
        yield f"{count} headings h1"
    for field in tab.evaluate(UNLABELLED):
        yield f"no label: {field}"
    for width_px in WIDTHS_PX:
        tab.set_viewport_size({"width": width_px, "height": HEIGHT_PX})
        if (too_wide_px := tab.evaluate(TOO_WIDE_PX)) > 0:
            yield f"scrolls sideways by {too_wide_px} px at {width_px} px"
        for table in tab.evaluate(CUT_OFF):
            yield f"cuts off a table at {width_px} px: {table}"
    for width_px, scheme in ((1280, "light"), (390, "dark")):
        tab.set_viewport_size({"width": width_px, "height": HEIGHT_PX})
        tab.emulate_media(color_scheme=scheme)
        for rule, first in tab.evaluate(AXE):
            yield f"{rule} at {width_px} px, {scheme}: {first}"
