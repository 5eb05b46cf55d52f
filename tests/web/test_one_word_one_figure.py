"""On every page of the demo one word is one figure for one item."""

import re
from collections import defaultdict
from datetime import UTC, date, datetime, time
from html import unescape
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from planning.demo import build_sheets, counted_on
from planning.interchange.loading import load_kitchen
from planning.models import PlannedCake
from stock.models import Item
from tests import build

pytestmark = pytest.mark.django_db

TODAY = date(2026, 5, 5)  # a Tuesday, when the demo is open
NOW = datetime(2026, 5, 5, 15, tzinfo=UTC)
ZONE = ZoneInfo("America/Chicago")

NUMBER = r"\d[\d,]*(?:[./]\d+)?(?: \d+/\d+)?"
AMOUNT = rf"(?:about )?{NUMBER} [a-zA-Z]+(?: \+ {NUMBER} [a-zA-Z]+)*"
MOMENT = r"(?:today |[A-Z][a-z]{2} )?(?:[A-Z][a-z]{2} \d+, )?(?:noon|\d+:\d\d [ap]m)"
# What a figure is called where it stands in a sentence, and the sentence itself.
SAID = {
    "short": rf"({AMOUNT}) short\b",
    "below safety": rf"below safety [^.;]*?by up to ({AMOUNT})",
    "to reach par": rf"up to ({AMOUNT}) to reach it",
    "needed before the next delivery": rf"({AMOUNT}) needed before the next delivery",
    "order by": rf"[Oo]rder from [A-Z][\w ]+? by ({MOMENT})",
}
ITEM_LINK = re.compile(r'<a [^>]*href="/ahead/(\d+)/[^"]*"[^>]*>')
# The figure in the base unit behind an amount in words, a tap away.
EXACT = re.compile(r"(?<=</summary>)<span>[^<]*</span>")
# What ends one thing that is said of an item, and begins another.
BLOCK = re.compile(r"<(?:tr|li|h2|h3|h4|section|table|form)\b[^>]*>")


@pytest.fixture
def demo(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)
    counted_at = datetime.combine(counted_on(TODAY), time(20), tzinfo=ZONE)
    load_kitchen(build_sheets(TODAY), at=counted_at)


@pytest.fixture
def browser(demo):
    client = Client()
    client.force_login(build.user("ada"))
    return client


def addresses():
    """Every page that says how an item stands, seen as far ahead as is usual.

    Of the items those that are watched most, and of the cakes those of the big weekend.
    """
    watched = re.compile(
        "butter|sugar|molasses|hazelnut|vanilla|berries|lemons|box|milk"
    )
    items = [
        item
        for item in Item.objects.filter(kind__in=Item.BOUGHT_KINDS).order_by("pk")
        if watched.search(item.name)
    ]
    cakes = PlannedCake.objects.filter(reference__in=["2122", "2125", "2127", "2191"])
    return [
        *("/", "/shortfalls/", "/shortfalls/days/", "/rescue/", "/orders/"),
        *(reverse("planning:ahead", args=[item.pk]) for item in items),
        *(reverse("planning:planned_cake", args=[cake.pk]) for cake in cakes),
    ]


def figures_on(browser, address):
    """Yield (item, word, figure) for all that a page says of items."""
    response = browser.get(address)
    assert response.status_code == 200
    markup = unescape(response.content.decode()).replace("\N{NO-BREAK SPACE}", " ")
    own = re.fullmatch(r"/ahead/(\d+)/", address)
    item = own[1] if own else None
    for block in BLOCK.split(EXACT.sub("", markup.partition("<main")[2])):
        links = set(ITEM_LINK.findall(block))
        if links and not own:
            item = links.pop() if len(links) == 1 else None
        if item is None:
            continue
        text = " ".join(re.sub(r"<[^>]+>", " ", block).split())
        for word, pattern in SAID.items():
            for figure in re.findall(pattern, text):
                yield int(item), word, figure


def test_one_word_is_one_figure_on_every_page(browser):
    found = defaultdict(lambda: defaultdict(set))
    for address in addresses():
        for item, word, figure in figures_on(browser, address):
            found[item, word][figure].add(address)

    names = dict(Item.objects.values_list("pk", "name"))
    several = {
        (names[item], word): dict(by_figure)
        for (item, word), by_figure in found.items()
        if len(by_figure) > 1
    }
    assert several == {}
    pages_by_word = defaultdict(set)
    for (_, word), by_figure in found.items():
        pages_by_word[word] |= set().union(*by_figure.values())
    assert {word for word in SAID if len(pages_by_word[word]) < 2} == {
        "needed before the next delivery"
    }
    nuts = Item.objects.get(name="hazelnuts").pk
    assert (
        found[nuts, "short"].keys()
        != found[nuts, "needed before the next delivery"].keys()
    )
    assert len(found[nuts, "needed before the next delivery"]) == 1
