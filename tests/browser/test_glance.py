"""A page for a glance keeps its budget at the size of the demo, on a phone."""

import pytest

from planning.orders.drafting import draft_what_is_needed
from stock.models import Item
from tests import build
from tests.browser.conftest import NOW, TODAY

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True}
MOST_WORDS = 120  # in the first screen, menu included
MOST_KB = 100
# Pages, and how many screens they may take.
BUDGETS = [("/", 2.5), ("/shortfalls/", 5), ("/orders/", 5)]
# Words that can be seen without scrolling: those of a folded part cannot.
WORDS_IN_SIGHT = """
() => {
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const seen = [];
  while (walker.nextNode()) {
    const {parentElement: parent, textContent: text} = walker.currentNode;
    const unseen = "script, style, svg, .for-ears, .skip";
    if (!text.trim() || parent.closest(unseen) || !parent.checkVisibility()) continue;
    const range = document.createRange();
    range.selectNodeContents(walker.currentNode);
    const {top, height} = range.getBoundingClientRect();
    if (height && top + scrollY < innerHeight) seen.push(text.trim());
  }
  return seen.join(" ").split(/\\s+/).length;
}
"""
SMALL_TARGETS = """
() => [...document.querySelectorAll(".glance a, .glance summary, .glance button")]
  .filter((each) => each.checkVisibility() && !each.matches(".figure-link, .small a"))
  .filter((each) => each.getBoundingClientRect().height < 44)
  .map((each) => each.outerHTML)
"""


@pytest.fixture
def phone(demo_kitchen, open_tab, sign_in):
    tab = open_tab(**PHONE)
    sign_in(tab)
    tab.get_by_role("heading", name="Today", level=1).wait_for()
    return tab


@pytest.fixture
def busy(demo_kitchen):
    """A late order, an expired lot, and an order for today."""
    cream = Item.objects.get(name="heavy cream")
    build.stock(cream, 900, use_by=TODAY.replace(day=TODAY.day - 1), lot="OLD")
    supplier = cream.packs.first().supplier
    for day in (TODAY.replace(day=1), TODAY):
        lines = [(cream.packs.first(), 2)]
        build.order(supplier, deliver_on=day, lines=lines)


def screens(tab):
    return tab.evaluate("document.documentElement.scrollHeight / innerHeight")


@pytest.mark.parametrize(("address", "most_screens"), BUDGETS)
def test_a_page_is_no_longer_than_its_budget(busy, phone, address, most_screens):
    answer = phone.goto(address)

    assert screens(phone) <= most_screens
    assert len(answer.body()) <= MOST_KB * 1000
    assert phone.evaluate(WORDS_IN_SIGHT) <= MOST_WORDS


def test_today_says_first_what_is_first(busy, phone):
    headings = phone.get_by_role("heading", level=2).all_inner_texts()
    first = phone.get_by_role("link", name="Receive").first.bounding_box()

    assert headings[1:] == [
        "Receive",
        "Make today",
        "Short by Sunday",
        "Use first",
        "Count",
    ]
    assert headings[0].startswith("Order by")
    assert first["y"] + first["height"] < PHONE["viewport"]["height"]


def test_today_shows_three_of_a_kind(busy, phone):
    for part in phone.locator(".glance-part").all():
        rows = part.locator(":scope > .glance-rows > li:has(.glance-when)")
        assert rows.count() <= 2 * 3  # to receive now, and who delivers later


def test_drafted_orders_lead_from_today_to_their_own_page(phone, demo_kitchen, baker):
    draft_what_is_needed(bakery=demo_kitchen, at=NOW, by_id=baker.pk)
    phone.goto("/")
    words = phone.locator(".glance-part").first.inner_text()

    phone.get_by_role("link", name="Review order").click()

    assert words.startswith("Approve by")
    reference = phone.get_by_role("heading", level=1).inner_text()
    assert reference.split()[-1] in words


def test_targets_on_today_are_large(busy, phone):
    phone.goto("/")

    assert phone.evaluate(SMALL_TARGETS) == []
