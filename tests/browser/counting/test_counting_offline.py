"""No entry is lost: the network cut, the tab killed, a wrong clock, signed out."""

import pytest
from django.utils import timezone
from playwright.sync_api import Error, expect

from stock.counts import counting
from stock.models import CountEntry
from tests import build
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    an_entry,
    enter,
    field,
    open_sheet,
    ready,
    sent,
    texts,
    waiting,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CLOCK_AN_HOUR_AHEAD = """
  const Real = Date;
  globalThis.Date = class extends Real {
    constructor(...parts) {
      super(...(parts.length ? parts : [Real.now() + 3600e3]));
    }
    static now() { return Real.now() + 3600e3; }
  };
"""


def test_the_network_goes_the_tab_dies_and_nothing_is_lost(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    enter(tab, "butter", "2 c")
    sent(tab)
    ready_for_offline(tab)
    tab.context.set_offline(True)
    enter(tab, "eggs", "3 flats")
    field(tab, "flour").type("2 ba")
    expect(waiting(tab)).to_contain_text("1 entry waits on this phone")
    with pytest.raises(Error):
        tab.goto("chrome://crash")
    context = tab.context
    tab.close()
    again = context.new_page()
    again.goto(f"/count/{count.pk}/{shelf.pk}/")
    ready(again)

    expect(field(again, "butter")).to_have_value("2 c")
    expect(field(again, "eggs")).to_have_value("3 flats")
    expect(field(again, "flour")).to_have_value("2 ba")
    expect(again.get_by_text("Typed, not entered yet")).to_be_visible()
    expect(again.get_by_text("1 line is typed, not entered:")).to_be_visible()
    field(again, "flour").fill("3 bags")
    field(again, "flour").press("Enter")
    expect(waiting(again)).to_contain_text("2 entries wait on this phone")
    again.reload()
    ready(again)
    expect(field(again, "flour")).to_have_value("3 bags")
    again.context.set_offline(False)
    sent(again)
    assert texts(count) == {
        "butter": ["2 c"],
        "eggs": ["3 flats"],
        "flour": ["3 bags"],
    }


def test_a_clock_an_hour_ahead_does_not_hide_a_newer_entry(phone, ada, count, shelf):
    ahead = phone(ada, CLOCK_AN_HOUR_AHEAD)
    open_sheet(ahead, count, shelf)
    enter(ahead, "butter", "1 c")
    sent(ahead)
    right = phone(ada)
    open_sheet(right, count, shelf)

    expect(field(right, "butter")).to_have_value("1 c")
    enter(right, "butter", "2 c")
    sent(right)

    # the second phone saw the first one's entry and replaced it
    [line] = [
        line
        for line in counting.sheets(count.pk, by_id=ada.pk)[0].lines
        if line.line.item.name == "butter"
    ]
    assert line.own.text == "2 c"


def test_entries_that_come_after_posting_are_kept_on_the_phone(
    phone, ada, ben, count, shelf
):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    ready_for_offline(tab)
    tab.context.set_offline(True)
    enter(tab, "butter", "2 c")
    counting.take_entries(
        [an_entry(count, shelf, "eggs", "3 flats")],
        at=timezone.now(),
        sent_by_id=ben.pk,
    )
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=timezone.now())
    tab.context.set_offline(False)

    expect(tab.get_by_text("was posted before this came")).to_be_visible()
    expect(field(tab, "butter")).to_have_value("2 c")


def test_what_waits_on_a_phone_is_sent_from_the_list_of_counts_too(
    phone, ada, ben, count, shelf
):
    """She left the sheet with no signal, and the count was posted meanwhile."""
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    ready_for_offline(tab)
    tab.context.set_offline(True)
    # As a page is left, the browser forgets that it is offline: this does not.
    tab.evaluate("() => { window.fetch = () => Promise.reject(new TypeError()); }")
    enter(tab, "butter", "2 c")
    expect(waiting(tab)).to_contain_text("1 entry waits on this phone")
    tab.goto("about:blank")
    counting.take_entries(
        [an_entry(count, shelf, "eggs", "3 flats")],
        at=timezone.now(),
        sent_by_id=ben.pk,
    )
    counting.send_to_review(count.pk)
    counting.post_count(count.pk, at=timezone.now())
    tab.context.set_offline(False)
    tab.goto("/count/")

    expect(tab.get_by_text("was posted before this came")).to_be_visible()
    assert CountEntry.objects.get(text="2 c").kept == "posted"
    tab.get_by_role("button", name="I have seen these").tap()
    expect(tab.get_by_text("Kept here for you")).to_be_hidden()


def test_whoever_was_signed_out_signs_in_again_and_the_entries_go(
    phone, ada, count, shelf
):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    cookies = tab.context.cookies()
    tab.context.clear_cookies()

    enter(tab, "butter", "2 c")
    expect(waiting(tab)).to_contain_text("1 entry waits on this phone. Sign in again")
    expect(tab.get_by_role("link", name="Sign in")).to_be_visible()
    assert not CountEntry.objects.exists()
    tab.context.add_cookies(cookies)
    tab.reload()
    ready(tab)

    sent(tab)
    assert texts(count) == {"butter": ["2 c"]}


def test_something_found_gets_a_line_even_with_no_network(phone, ada, count, shelf):
    build.item("vanilla", own_units="jar = 500 g")
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    ready_for_offline(tab)
    tab.context.set_offline(True)

    tab.get_by_label("Item", exact=True).fill("vanilla")
    tab.get_by_role("button", name="Add this line").tap()
    enter(tab, "vanilla", "2 jars")
    expect(waiting(tab)).to_contain_text("1 entry waits on this phone")
    tab.reload()
    ready(tab)
    expect(field(tab, "vanilla")).to_have_value("2 jars")
    tab.context.set_offline(False)

    sent(tab)
    assert texts(count) == {"vanilla": ["2 jars"]}


def test_a_use_by_that_nobody_can_mean_gets_no_line(phone, ada, count, shelf):
    build.item("vanilla", own_units="jar = 500 g")
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    tab.get_by_label("Item", exact=True).fill("vanilla")
    tab.get_by_label("Use by").fill("0026-12-24")

    tab.get_by_role("button", name="Add this line").tap()

    expect(tab.locator("[data-extra-problem]")).to_have_text(
        "Use by: 0026-12-24 is too far away. Write a year from 1990 to 2189."
    )
    expect(tab.get_by_label("Use by")).to_be_focused()
    expect(field(tab, "vanilla")).to_have_count(0)
    tab.get_by_label("Use by").fill("2026-12-24")
    tab.get_by_role("button", name="Add this line").tap()
    enter(tab, "vanilla", "2 jars")
    sent(tab)
    assert CountEntry.objects.get().use_by.year == 2026
