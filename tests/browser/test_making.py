"""A batch is made on a phone in two taps from Today."""

import pytest
from playwright.sync_api import expect

from planning.models import Bake
from stock.ledger.verifying import verify_ledger
from tests.browser.test_wasting import PHONE, Hand, come_in

pytestmark = pytest.mark.browser


def test_a_batch_made_takes_two_taps(demo_kitchen, open_tab, sign_in):
    tab = open_tab(viewport=PHONE, has_touch=True)
    come_in(tab, sign_in)
    hand = Hand(tab)

    tab.locator('a[href="/making/"]').first.wait_for()
    words = tab.locator('a[href="/making/"]').first.inner_text()
    hand.tap("link", words)
    name = tab.locator(".making-recipe h2").first.inner_text()
    hand.tap("button", f"{name}: made")

    expect(tab.get_by_role("button", name="Undo").first).to_be_visible()
    assert len(hand.done) == 2
    assert Bake.objects.get().recipe.item.name.casefold() == name.casefold()
    assert verify_ledger().is_whole
