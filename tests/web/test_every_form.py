"""Every form of every page that changes a row says as of which version.

The pages are found by following links from the first one, so that a new form is looked
at without a word here. What a form may do without a version is listed, with the reason.
"""

import re
from datetime import date
from decimal import Decimal
from html.parser import HTMLParser
from urllib.parse import urlsplit

import pytest
from django.urls import resolve
from django.urls.exceptions import Resolver404

from planning.demo import build_sheets
from planning.interchange.loading import load_kitchen
from planning.models import Order, PlannedCake, Recipe
from planning.orders.drafting import draft_what_is_needed
from planning.orders.orders import Hand, approve_order
from stock.counts.counting import open_count, post_count, send_to_review
from stock.counts.tares import keep_tare
from stock.holding.holding import hold_lot
from stock.models import Bakery, Item, Pack, Place, Supplier
from stock.moving.moving import MoveEntry, move_stock
from stock.wasting.wasting import WasteEntry, waste
from tests import build
from tests.build import NOON
from tests.planning.bakes import make
from tests.stock import counts

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]

MOST_PER_NAME = 4
LINK = re.compile(r'href="(/(?!static/)[^"#\s]*)')


class Forms(HTMLParser):
    """The forms of a page that post: where to, and the names of their fields."""

    def __init__(self, address):
        super().__init__()
        self.address, self.found, self.inside = address, [], None

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "form" and attrs.get("method") == "post":
            self.inside = (attrs.get("action") or self.address, set())
            self.found.append(self.inside)
        elif self.inside and attrs.get("name"):
            self.inside[1].add(attrs["name"])

    def handle_endtag(self, tag):
        if tag == "form":
            self.inside = None


@pytest.fixture
def visitor(client):
    client.force_login(build.user("ada", is_staff=True))
    return client


@pytest.fixture
def busy_kitchen(visitor):
    """The demo's kitchen, with orders, counts in every state, and what is retired."""
    load_kitchen(build_sheets(date(2026, 5, 4)), at=NOON)
    bakery = Bakery.objects.get()
    draft_what_is_needed(bakery=bakery, at=NOON)
    draft = Order.objects.filter(state=Order.State.DRAFT).first()
    approve_order(Hand(draft.pk, draft.version, at=NOON))
    keep_tare(name="bin", weight="2 lb")
    eggs = Item.objects.get(name="eggs")
    waste(WasteEntry(eggs.pk, eggs.place_id, Decimal(3), "dropped"), key="eggs")
    rack = Place.objects.exclude(pk=eggs.place_id).last()
    move_stock(MoveEntry(eggs.pk, eggs.place_id, rack.pk, Decimal(3)), key="eggs")
    make(Recipe.objects.filter(is_cake=False)[0])
    hold_lot(eggs.lots.get().pk, reason="recall")
    build.substitute(*Item.objects.filter(kind=Item.Kind.INGREDIENT)[:2])
    first, second, third = Place.objects.order_by("walk_order")[:3]
    open_count(counted_at=NOON, at=NOON, place_ids=[first.pk])
    for place, is_posted in ((second, False), (third, True)):
        count = open_count(counted_at=NOON, at=NOON, place_ids=[place.pk])
        item = Item.objects.filter(place=place).first()
        for number, by in enumerate(("bo", "cy")):
            if number and is_posted:
                continue
            person = build.user(f"{by}{place.pk}")
            counts.enter(count, item, f"{number + 2} lb", by=person)
        send_to_review(count.pk)
        if is_posted:
            post_count(count.pk, at=NOON, as_entered=True)
    cakes = PlannedCake.objects.order_by("-due_on")
    PlannedCake.objects.filter(pk=cakes[0].pk).update(status="cancelled")
    for model in (Item, Supplier, Pack):
        last = model.objects.order_by("-pk")[0]
        model.objects.filter(pk=last.pk).update(retired=True)


def every_page(visitor):
    """Yield each page that links lead to, a few of each pattern, with its markup."""
    drafts = Order.objects.filter(state=Order.State.DRAFT)
    waiting, opened = ["/", "/holds/", f"/orders/{drafts[0].pk}/"], {}
    while waiting:
        address = waiting.pop(0)
        try:
            name = resolve(urlsplit(address).path).view_name
        except Resolver404:
            continue
        seen = opened.setdefault(name, set())
        if address in seen or len(seen) >= MOST_PER_NAME:
            continue
        seen.add(address)
        response = visitor.get(address)
        if response.status_code != 200 or "html" not in response["Content-Type"]:
            continue
        markup = response.content.decode()
        waiting += LINK.findall(markup)
        yield address, markup


def forms_of_every_page(visitor):
    """Return the fields of each form that posts, by where to."""
    forms = {}
    for address, markup in every_page(visitor):
        page = Forms(address)
        page.feed(markup)
        for action, names in page.found:
            to = resolve(urlsplit(action).path).view_name
            forms.setdefault(to, []).append((address, names))
    return forms


ADDS_A_ROW = "it adds a row, and one that is there already is refused"
KEEPS_ALL = "entries are never changed, and all of them are kept"
A_STEP = "the state of the count says whether it is still to be done"
SIGNING = "it is about who is signed in"
WITHOUT_A_VERSION = {
    **dict.fromkeys(("login", "logout"), SIGNING),
    "password_change": "whoever changes it says the one that it was",
    **dict.fromkeys(
        (
            *("planning:add_cake", "planning:add_line", "planning:add_person"),
            *("planning:add_recipe", "planning:copy_cake", "planning:copy_cakes"),
            *("planning:draft_orders", "planning:start_order"),
            *("stock:add_item", "stock:add_item_pack", "stock:add_supplier_pack"),
            *("stock:add_part", "stock:add_place", "stock:add_substitute"),
            *("stock:add_supplier", "stock:counts"),
        ),
        ADDS_A_ROW,
    ),
    "stock:tares": "a name that is there is asked about with its version",
    "planning:kitchen_files": "it only shows what a file would change",
    "planning:undo_bake": "undone once it stays undone, and what was used is kept",
    "planning:what_if": "nothing is stored; what is accepted is compared then",
    **dict.fromkeys(("stock:count_sheet", "stock:count_type_in"), KEEPS_ALL),
    "planning:scan_label": "it adds the pack in the hand, once by its key",
    "stock:waste_item": "it adds a movement, once by its key",
    "stock:undo_waste": "undone once it stays undone, and what was set since is kept",
    "stock:move_item": "it adds movements, once by its key",
    "stock:undo_move": "undone once it stays undone, and what was set since is kept",
    "stock:hold_lot": "held once it stays held; for another reason it is refused",
    "stock:release_hold": "it names the hold, and a newer one is another",
    "stock:set_on_hand": "it adds a movement, and says what was on record",
    **dict.fromkeys(("stock:end_count", "stock:reopen_count"), A_STEP),
}
# Instead of a version: what the form showed, which must still be so.
AS_SHOWN = {
    "stock:choose_counting_unit": "was",
    "stock:discard_count": "shown",
    "stock:note_count": "was",
    "stock:post_count": "shown",
    "stock:undo_count": "posted",
    "planning:make": "seen",
    "planning:start_order_search": "seen",
}


def test_every_form_that_changes_a_row_says_as_of_which_version(visitor, busy_kitchen):
    forms = forms_of_every_page(visitor)

    blind = {
        (to, page)
        for to, found in forms.items()
        for page, names in found
        if to not in WITHOUT_A_VERSION and AS_SHOWN.get(to, "version") not in names
    }
    assert blind == set()
    assert set(WITHOUT_A_VERSION) <= set(forms)
    changing = set(forms) - set(WITHOUT_A_VERSION)
    assert {"stock:change_item", "planning:order", "stock:move_place"} <= changing
