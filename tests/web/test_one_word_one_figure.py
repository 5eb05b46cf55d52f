"""On every page of the demo one word is one figure for one item."""

import re
from collections import defaultdict
from datetime import UTC, date, datetime, time
from html import unescape
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from planning.demo import build_sheets, counted_on
from planning.interchange.loading import load_kitchen
from planning.models import PlannedCake, Recipe
from stock.conversion.converters import converters_for
from stock.measures.reading.sayings import system_in, system_of
from stock.models import Item, Pack, Place
from tests import build
from tests.stock.counts import opened
from tests.web.what_if import trying

pytestmark = pytest.mark.django_db

TODAY = date(2026, 5, 5)  # a Tuesday, when the demo is open
NOW = datetime(2026, 5, 5, 15, tzinfo=UTC)
ZONE = ZoneInfo("America/Chicago")

NUMBER = r"\d[\d,]*(?:[./]\d+)?(?: \d+/\d+)?"
UNIT = r"(?:fl oz|[a-zA-Z]+)"
AMOUNT = rf"(?:about )?{NUMBER} {UNIT}(?: (?:\+ )?{NUMBER} {UNIT})*"
# Below a quarter ounce or half a teaspoon all is metric: a scale shows it so.
TINY = re.compile(r"(?:about )?([0-6](?:\.\d+)?|7) g|(?:about )?[0-2](?:\.\d+)? mL")
MOMENT = r"(?:today |[A-Z][a-z]{2} )?(?:[A-Z][a-z]{2} \d+, )?(?:noon|\d+:\d\d [ap]m)"
# What a figure is called where it stands in a sentence, and the sentence itself.
SAID = {
    "safety": rf"(?:[Ss]afety|the safety of) ({AMOUNT})",
    "par": rf"\b[Pp]ar ({AMOUNT})",
    "short": rf"({AMOUNT}) short\b",
    "below safety": rf"below safety [^.;]*?by up to ({AMOUNT})",
    "to reach par": rf"up to ({AMOUNT}) to reach it",
    "needed before the next delivery": rf"({AMOUNT}) needed before the next delivery",
    "order by": rf"[Oo]rder from [A-Z][\w ]+? by ({MOMENT})",
}
ITEM_LINK = re.compile(r'<a [^>]*href="/(?:ahead|shelves)/(\d+)/[^"]*"[^>]*>')
# The figure in the base unit behind an amount in words: a tap away, or small.
EXACT = re.compile(
    r'(?<=</summary>)\s*<span>[^<]*</span>|<span class="small soft">[^<]*</span>'
    r"| \([\d,.]+ (?:g|mL|each)\)|, and in (?:g|mL|each)\."
)
# A day of a table of days is short by a figure of its own.
DAYS = re.compile(r'<table[^>]*class="across".*?</table>', re.DOTALL)
OLD_WORDS = [
    *("Not so?", "Take it away", "Drop ", "Difference", "to be got by hand"),
    *("counts for nothing", "worth their while", "delivery saves any more"),
]
# What ends one thing that is said of an item, and begins another.
BLOCK = re.compile(r"<(tr|td|li|h2|h3|h4|section|table|form|details)\b[^>]*>")
AFRESH = {"h2", "section", "table", "form"}  # what follows is not of the item above


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


def watched_items():
    """Return the items that are watched most, and those that no delivery saves."""
    watched = re.compile(
        "butter|sugar|molasses|hazelnut|vanilla|berries|lemons|box|milk|chocolate|cloves"
    )
    return [
        item
        for item in Item.objects.filter(kind__in=Item.BOUGHT_KINDS).order_by("pk")
        if watched.search(item.name)
    ]


def addresses():
    """Every page that says how an item stands in the plan, as far ahead as is usual.

    Of the cakes those of the big weekend.
    """
    items = watched_items()
    cakes = PlannedCake.objects.filter(reference__in=["2122", "2125", "2127", "2191"])
    return [
        *("/", "/shortfalls/", "/shortfalls/?kind=out", "/shortfalls/days/"),
        *("/rescue/", "/orders/"),
        *(reverse("planning:ahead", args=[item.pk]) for item in items),
        *(reverse("stock:item", args=[item.pk]) for item in items),
        *(reverse("planning:planned_cake", args=[cake.pk]) for cake in cakes),
    ]


def addresses_of_other_plans():
    """Pages that say an item's quantities of another plan, or of none."""
    cakes = Recipe.objects.filter(is_cake=True).order_by("pk")
    asked = {"cake": "Hazelnut praline torte", "due": "2026-05-14", "quantity": "2"}
    return [
        f"/can-we-take-it/?{urlencode(asked)}",
        f"/can-we-take-it/?{urlencode(asked | {'quantity': '20'})}",
        "/what-if/",
        "/shelves/",
        *(reverse("planning:recipe", args=[cake.pk]) for cake in cakes),
    ]


def blocks_on(browser, address, left_out=None):
    """Yield (item, text) for all that a page says of one item, but what is left out."""
    response = browser.get(address)
    assert response.status_code == 200
    markup = unescape(response.content.decode()).replace("\N{NO-BREAK SPACE}", " ")
    markup = markup.partition("<main")[2]
    if left_out is not None:
        markup = left_out.sub("", markup)
    if address.startswith("/recipes/"):  # above stands what was typed
        markup = markup.partition("Down to what is bought")[2].partition("</section")[0]
    own = re.fullmatch(r"/(?:ahead|shelves)/(\d+)/", address)
    item = own[1] if own else None
    parts = BLOCK.split(EXACT.sub("", markup))
    for tag, block in zip(["", *parts[1::2]], parts[::2], strict=True):
        if tag in AFRESH and not own:
            item = None
        links = set(ITEM_LINK.findall(block))
        if links and not own:
            item = links.pop() if len(links) == 1 else None
        if item is not None:
            yield int(item), " ".join(re.sub(r"<[^>]+>", " ", block).split())


def figures_on(browser, address):
    """Yield (item, word, figure) for all that a page says of items."""
    for item, text in blocks_on(browser, address, DAYS):
        for word, pattern in SAID.items():
            for figure in re.findall(pattern, text):
                yield item, word, figure


def systems_on(browser, address, names_of_packs):
    """Yield (item, system, words) for every quantity that a page says of an item."""
    for item, text in blocks_on(browser, address):
        if " = " in text:  # what its own words mean, as typed
            continue
        own_words = re.compile("|".join(map(re.escape, names_of_packs[item])) or "$")
        for words in re.findall(AMOUNT, own_words.sub("", text)):
            system = system_in(words.removeprefix("about "))
            if system is not None and not TINY.fullmatch(words):
                yield item, system, words


@pytest.fixture
def tried(browser):
    """Somebody who tries what becomes of the plan without two of its cakes."""
    for reference in ("2122", "2127"):
        trying.tried(browser, "drop-cake", reference=reference)
    return browser


def test_one_item_is_said_in_one_kind_of_units_on_every_page(tried):
    names_of_packs = defaultdict(list)
    for pack in Pack.objects.all():
        names_of_packs[pack.item_id] += [pack.label, f"{pack.holds}, called"]
    found = defaultdict(lambda: defaultdict(set))
    for address in [*addresses(), *addresses_of_other_plans()]:
        for item, system, words in systems_on(tried, address, names_of_packs):
            found[item][system].add((address, words))

    names = dict(Item.objects.values_list("pk", "name"))
    mixed = {names[item]: dict(said) for item, said in found.items() if len(said) > 1}
    assert mixed == {}
    converters = converters_for(found)
    assert {item: {system_of(converters[item])} for item in found} == {
        item: set(said) for item, said in found.items()
    }
    assert len(found) > 40


def test_no_page_says_an_old_word(tried):
    count = opened(Place.objects.first(), counted_at=NOW)
    pages = [
        *addresses(),
        *addresses_of_other_plans(),
        *("/count/", f"/count/{count.pk}/review/", f"/count/{count.pk}/discard/"),
    ]

    found = {
        (address, word)
        for address in pages
        for word in OLD_WORDS
        if word in unescape(tried.get(address).content.decode())
    }

    assert found == set()


def cells_of(markup):
    """Return the rows of the days' table of a page, each a list of its cells' words."""
    [table] = DAYS.findall(markup)
    table = EXACT.sub("", unescape(table).replace("\N{NO-BREAK SPACE}", " "))
    return [
        [
            " ".join(re.sub(r"<[^>]+>", " ", cell).split())
            for cell in re.findall(r"<t[hd]\b[^>]*>(.*?)</t[hd]>", row, re.DOTALL)
        ]
        for row in re.findall(r"<tr\b[^>]*>(.*?)</tr>", table, re.DOTALL)
    ]


def left_words(cell):
    """Return what a day of an item comes to: `3 lb`, or `3 lb short`."""
    return cell.removesuffix(", below par").removesuffix(" left, below safety")


def test_one_day_of_an_item_is_one_figure_in_every_table_of_days(browser):
    shown = browser.get("/shortfalls/days/").content.decode()
    headings, *rows = cells_of(shown)
    by_item = {row[0]: dict(zip(headings, row, strict=True)) for row in rows}

    compared = 0
    for item in watched_items():
        page = browser.get(reverse("planning:ahead", args=[item.pk]))
        _, *days = cells_of(page.content.decode())
        for day, *_, left, state in days:
            said = state if state.endswith(" short") else left
            name = next(each for each in by_item if each.lower() == item.name.lower())
            assert (item.name, left_words(by_item[name][day])) == (item.name, said)
            compared += 1

    assert compared > 99


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
