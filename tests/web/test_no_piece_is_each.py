"""Pieces are called by the item's own word on every page, never each: 20 eggs."""

import re
from collections import defaultdict
from datetime import timedelta
from decimal import Decimal
from html import unescape
from io import StringIO
from urllib.parse import urlsplit

import pytest
from django.core.management import call_command
from django.urls import resolve, reverse

from planning.models import Order, PlannedCake
from planning.orders.drafting import draft_what_is_needed
from stock.holding.holding import hold_lot
from stock.models import Bakery, Count, Item, Place
from stock.moving.moving import MoveEntry, move_stock
from stock.wasting.wasting import WasteEntry, waste
from tests import build
from tests.planning.bakes import bake
from tests.planning.deliveries import receive
from tests.stock.counts import entry, opened, posted, take
from tests.web.test_one_word_one_figure import NOW, demo  # noqa: F401

pytestmark = pytest.mark.django_db

EACH = re.compile(r".{0,40}(?<![$\d.,])(?:\d[\d.,/]*|[¼½¾⅓⅔]) each\b.{0,20}")
# What a script reads, and what was typed and is read again, is not what people read.
NO_WORDS = re.compile(r"<(script|style|textarea)\b.*?</\1>|<[^>]+>", re.DOTALL)
SPOKEN = re.compile(r'(?:aria-label|title|placeholder)="([^"]*)"')
QUOTED = re.compile(r"“[^”]*”")
ADDRESS = re.compile(r'(?:href|data-src|data-fill)="(/(?!static/)[^"#]*)')
NAMES = ("eggs", "lemons", "10 in board", "satin ribbon", "dowels", "tall box")
MOST_OF_A_KIND = 2
# So a cake yields in the workbook, and so a form asks for it.
AS_TYPED = "or 1 each."


@pytest.fixture
def kitchen(demo):  # noqa: F811 (the same fixture)
    """The demo, its pieces wasted, moved, received, baked with, counted and held."""
    ada = build.user("ada", is_staff=True)
    eggs = Item.objects.get(name="eggs")
    rack = Place.objects.exclude(pk=eggs.place_id).last()
    waste(WasteEntry(eggs.pk, eggs.place_id, Decimal(3), "dropped"), key="eggs")
    move_stock(MoveEntry(eggs.pk, eggs.place_id, rack.pk, Decimal(3)), key="eggs")
    draft_what_is_needed(bakery=Bakery.current(), at=NOW, by_id=ada.pk)
    order = Order.objects.filter(state="sent", lines__pack__item__measure="count")[0]
    receive(order, *[2 for _ in order.lines.all()], on=NOW.date(), by=ada)
    bake(PlannedCake.objects.order_by("due_on").last())
    counted(ada)
    hold_lot(eggs.lots.order_by("pk")[0].pk, reason="recall")
    return ada


def counted(ada):
    """One count is posted; in another much is asked, and something moved since."""
    ben = build.user("ben")
    eggs, lemons, board, ribbon, dowels, box = pieces = [
        Item.objects.get(name=name) for name in NAMES
    ]
    early = opened(eggs.place, counted_at=NOW - timedelta(hours=2), by=ada)
    take(entry(early, eggs, "243 each", by=ada))
    posted(early, at=NOW - timedelta(hours=1), by_id=ada.pk)
    places = {item.place_id: item.place for item in pieces}
    late = opened(*places.values(), counted_at=NOW - timedelta(minutes=30), by=ada)
    take(
        entry(late, eggs, "39 each", by=ada),
        entry(late, lemons, "2/25", by=ada),
        entry(late, board, "7 each", by=ada),
        entry(late, board, "9 each", by=ben, device="other"),
        entry(late, ribbon, "1", by=ada),
        entry(late, dowels, "3 each", by=ada),
        entry(late, box, "400 each", by=ada),
    )
    waste(WasteEntry(eggs.pk, eggs.place_id, Decimal(2), "dropped"), key="two")


def reviews():
    return [reverse("stock:count_review", args=[row.pk]) for row in Count.objects.all()]


def read_on(markup):
    """What a page says and lets a screen reader say, but for what it quotes."""
    spoken = " | ".join(SPOKEN.findall(markup))
    text = " ".join(NO_WORDS.sub(" ", f"{markup} | {spoken}").split())
    return QUOTED.sub("", unescape(text)).replace(AS_TYPED, "")


def pages(client, first):
    """Yield addresses with what is read there, and a few of each kind they lead to."""
    waiting, tried = list(first), defaultdict(set)
    for place, address in enumerate(waiting):
        name = resolve(urlsplit(address).path).view_name
        is_enough = place >= len(first) and len(tried[name]) >= MOST_OF_A_KIND
        if is_enough or address in tried[name]:
            continue
        tried[name].add(address)
        response = client.get(address)
        if "text/html" in response.get("Content-Type", ""):
            markup = response.content.decode()
            waiting += map(unescape, ADDRESS.findall(markup))
            yield address, read_on(markup)


def test_no_page_counts_pieces_in_each(kitchen, client):
    client.force_login(kitchen)
    pieces = Item.objects.filter(name__in=NAMES).values_list("pk", flat=True)
    first = [reverse("planning:today"), *reviews()]
    for kind in ("stock:item", "planning:ahead"):
        first += [reverse(kind, args=[item]) for item in pieces]

    found = {
        (address, said)
        for address, text in pages(client, first)
        for said in EACH.findall(text.replace("\N{NO-BREAK SPACE}", " "))
    }

    assert found == set()


def test_no_command_counts_pieces_in_each(kitchen):
    late = ["--count", str(Count.objects.last().pk)]
    out = StringIO()

    for command in (["plan"], ["post_count", *late, "--look"], ["count_sheet", *late]):
        call_command(*command, stdout=out)

    assert [line for line in out.getvalue().splitlines() if EACH.search(line)] == []
