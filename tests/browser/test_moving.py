"""A move on a phone: how many taps and keys it takes, and without scripts too."""

import pytest
from playwright.sync_api import expect

from stock.ledger import levels
from stock.ledger.verifying import verify_ledger
from stock.models import Item, Place
from tests.browser.test_wasting import (
    PHONE,
    SMALLEST_TARGET_PX,
    TARGETS,
    Hand,
    come_in,
    said,
)

pytestmark = pytest.mark.browser

MOST_TAPS_AND_KEYS = 6


@pytest.fixture(params=[True, False], ids=["scripts", "no scripts"])
def tab(request, demo_kitchen, open_tab, sign_in):
    page = open_tab(java_script_enabled=request.param, viewport=PHONE, has_touch=True)
    come_in(page, sign_in)
    return page


def test_a_move_from_the_shelves_takes_six_taps_and_keys(tab, figure):
    eggs = Item.objects.get(name="eggs")
    freezer = Place.objects.get(name="freezer")
    before = levels.on_hand_base_by_place(item=eggs)
    hand = Hand(tab)

    hand.tap("menu", "Shelves")
    hand.tap("link", "Eggs")
    hand.tap("link", "Move")
    expect(tab.get_by_label("Quantity")).to_be_focused()  # with no tap
    hand.press("12")
    hand.tap("button", "Freezer")

    assert "1 dozen eggs moved from" in said(tab)
    assert levels.on_hand_base_by_place(item=eggs) == {
        eggs.place_id: before[eggs.place_id] - 12,
        freezer.pk: 12,
    }
    assert len(hand.done) <= MOST_TAPS_AND_KEYS
    figure(f"a move from Today: {len(hand.done)} ({', '.join(hand.done)})")
    hand.tap("button", "Undo")
    assert "Undone: 1 dozen eggs back in" in said(tab)
    assert levels.on_hand_base_by_place(item=eggs) == before
    assert verify_ledger().is_whole


def test_every_target_is_big_enough_for_a_thumb(demo_kitchen, open_tab, sign_in):
    page = open_tab(viewport=PHONE)
    come_in(page, sign_in)
    eggs = Item.objects.get(name="eggs")

    for address in ("/move/", f"/move/{eggs.pk}/"):
        page.goto(address)
        targets = page.evaluate(TARGETS)
        assert len(targets) > 5
        assert [each for each in targets if each[1] < SMALLEST_TARGET_PX] == []
