"""Waste on a phone: how many taps and keys it takes, and without scripts too."""

import pytest
from playwright.sync_api import expect

from stock.ledger.verifying import verify_ledger
from stock.models import Item, Waste
from tests import build
from tests.browser.conftest import TODAY
from tests.on_hand import on_hand_base_by_item

pytestmark = pytest.mark.browser

PHONE = {"width": 390, "height": 844}
MOST_TAPS_AND_KEYS = 6
SMALLEST_TARGET_PX = 48
# Sizes of what is tapped on the page itself; the menu has its own tests.
TARGETS = """
() => [...document.querySelectorAll("button, .button, select, input")]
  .filter((target) => target.closest("main") && target.checkVisibility())
  .map((target) => [target.outerHTML, target.getBoundingClientRect().height])
"""


class Hand:
    """A hand that counts what it does."""

    def __init__(self, tab):
        self.tab, self.done = tab, []

    def tap(self, role, name):
        if role == "menu":
            target = self.tab.get_by_role("navigation").get_by_text(name, exact=True)
        else:
            target = self.tab.get_by_role(role, name=name, exact=True).first
        target.click()
        self.done.append(f"tap {name}")

    def press(self, keys):
        for key in keys:
            self.tab.keyboard.press(key)
            self.done.append(f"key {key}")


@pytest.fixture(params=[True, False], ids=["scripts", "no scripts"])
def tab(request, demo_kitchen, open_tab, sign_in):
    page = open_tab(java_script_enabled=request.param, viewport=PHONE, has_touch=True)
    come_in(page, sign_in)
    return page


def come_in(page, sign_in):
    sign_in(page)
    page.get_by_role("heading", name="Today", level=1).wait_for()


@pytest.fixture
def eggs():
    return Item.objects.get(name="eggs")


def on_hand(item):
    return on_hand_base_by_item()[item.pk]


def test_a_usual_waste_takes_six_taps_and_keys_at_most(tab, eggs, figure):
    first(tab, "3")  # what is usual was wasted before
    before = on_hand(eggs)
    tab.goto("/")
    hand = Hand(tab)

    hand.tap("menu", "More")
    hand.tap("link", "Waste")
    hand.tap("link", "Eggs")
    expect(tab.get_by_label("Quantity")).to_be_focused()  # with no tap
    hand.press("12")
    hand.tap("button", "Dropped")

    assert "1 dozen eggs wasted, dropped, from" in said(tab)
    assert on_hand(eggs) == before - 12
    assert len(hand.done) <= MOST_TAPS_AND_KEYS
    figure(f"a usual waste from Today: {len(hand.done)} ({', '.join(hand.done)})")
    hand.tap("button", "Undo")
    assert "Undone: 1 dozen eggs back in" in said(tab)
    assert on_hand(eggs) == before
    assert verify_ledger().is_whole


def first(tab, text):
    tab.goto("/waste/?words=eggs")
    tab.get_by_role("link", name="Eggs", exact=True).click()
    tab.get_by_label("Quantity").fill(text)
    tab.get_by_role("button", name="Spoiled").click()


def said(tab):
    return (
        tab.get_by_role("status").first.inner_text().replace("\N{NO-BREAK SPACE}", " ")
    )


def test_enter_alone_never_chooses_a_reason(tab, eggs):
    tab.goto(f"/waste/{eggs.pk}/")

    tab.get_by_label("Quantity").fill("2")
    tab.get_by_label("Quantity").press("Enter")

    assert tab.url.endswith(f"/waste/{eggs.pk}/")
    assert not Waste.objects.exists()


def test_what_is_out_of_date_goes_with_one_tap(tab, eggs):
    yesterday = TODAY.replace(day=TODAY.day - 1)
    cream = Item.objects.get(name="heavy cream")
    build.stock(cream, 900, use_by=yesterday, lot="OLD")
    tab.goto("/")
    hand = Hand(tab)

    hand.tap("menu", "More")
    hand.tap("link", "Waste")
    button = tab.get_by_role("button", name="Waste all").first
    words = button.inner_text()
    button.click()

    assert words.removeprefix("Waste all ").split()[0] in said(tab)
    assert Waste.objects.get().reason == "expired"
    assert verify_ledger().is_whole


def test_more_than_on_record_asks_and_either_answer_is_one_tap(tab, eggs):
    tab.goto(f"/waste/{eggs.pk}/")
    tab.get_by_label("Quantity").fill("9000")
    tab.get_by_role("button", name="Tasting").click()
    assert "on record in" in tab.get_by_role("alert").inner_text()

    tab.get_by_role("button", name="It was").click()

    assert "below zero until it is counted" in said(tab)
    assert Waste.objects.get().reason == "tasting"


def test_every_target_is_big_enough_for_a_thumb(demo_kitchen, open_tab, sign_in, eggs):
    page = open_tab(viewport=PHONE)
    come_in(page, sign_in)
    first(page, "3")

    for address in (page.url, f"/waste/{eggs.pk}/"):
        page.goto(address)
        targets = page.evaluate(TARGETS)
        assert len(targets) > 5
        assert [each for each in targets if each[1] < SMALLEST_TARGET_PX] == []
