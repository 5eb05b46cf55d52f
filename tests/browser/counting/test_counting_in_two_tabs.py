"""One person opens one sheet twice: it is in hand in one tab, nothing is replaced."""

import pytest
from playwright.sync_api import expect

from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    PATIENCE_MS,
    enter,
    field,
    open_sheet,
    ready,
    sent,
    texts,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SAID = "You have this sheet open in another tab. Close it there to count here."


def test_the_second_tab_waits_and_goes_on_with_what_the_first_had_typed(
    phone, ada, count, shelf
):
    first = phone(ada)
    open_sheet(first, count, shelf)
    field(first, "butter").fill("2 of something")
    second = first.context.new_page()

    open_sheet(second, count, shelf)
    expect(second.get_by_text(SAID)).to_be_visible(timeout=PATIENCE_MS)
    assert second.locator("[data-sheet]").evaluate("(form) => form.inert")
    expect(first.get_by_text(SAID)).to_be_hidden()
    enter(first, "eggs", "3 flats")
    sent_words = first.get_by_text("Everything entered is sent.")
    expect(sent_words).to_be_visible(timeout=PATIENCE_MS)

    first.close()

    expect(second.get_by_text(SAID)).to_be_hidden(timeout=PATIENCE_MS)
    ready(second)
    expect(field(second, "butter")).to_have_value("2 of something")
    expect(field(second, "eggs")).to_have_value("3 flats")
    enter(second, "butter", "2 c")
    sent(second)
    assert texts(count) == {"butter": ["2 c"], "eggs": ["3 flats"]}


def test_a_sheet_that_is_loaded_anew_is_in_hand_again(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    for _ in range(3):
        tab.reload(timeout=PATIENCE_MS)
        ready(tab)

    tab.wait_for_timeout(1_500)

    expect(tab.get_by_text(SAID)).to_be_hidden()
    enter(tab, "butter", "2 c")
    sent(tab)


def test_what_is_typed_is_all_to_be_seen_on_a_small_phone(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    field(tab, "butter").type("1 1/2 cases and 6 lb")

    cut_off_px = "(field) => field.scrollWidth - field.clientWidth"
    assert field(tab, "butter").evaluate(cut_off_px) <= 0
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_page_that_is_not_here_leads_back_to_the_own_sheet(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    ready_for_offline(tab)
    tab.context.set_offline(True)

    tab.goto(f"/count/{count.pk}/review/", timeout=PATIENCE_MS)
    expect(tab.get_by_text("This page needs a signal.")).to_be_visible()
    tab.get_by_role("link", name="walk-in").tap()

    ready(tab)
    enter(tab, "butter", "2 c")
    expect(field(tab, "butter")).to_have_value("2 c")
