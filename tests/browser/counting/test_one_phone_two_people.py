"""One phone goes from hand to hand: nobody counts as another, or sees their sheet."""

import re

import pytest
from playwright.sync_api import expect

from stock.models import CountDevice, CountEntry
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    PATIENCE_MS,
    enter,
    field,
    open_sheet,
    ready,
    sent,
    texts,
    waiting,
)
from tests.stock.counts import conflicts

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PASSWORD = "flour-and-water"


def sign_in(tab, name):
    tab.goto("/sign-in/", timeout=PATIENCE_MS)
    tab.get_by_label("Username").fill(name)
    tab.get_by_label("Password").fill(PASSWORD)
    tab.get_by_role("button", name="Sign in").tap()
    expect(tab.get_by_text(f"Signed in as {name}.")).to_be_visible(timeout=PATIENCE_MS)


def sign_out(tab):
    tab.get_by_role("button", name="Sign out").tap()


def locked(tab, words="Nobody is signed in on this phone."):
    expect(tab.get_by_text(words)).to_be_visible(timeout=PATIENCE_MS)
    expect(tab.locator("[data-sheet]")).to_have_count(0)


@pytest.fixture
def counted_offline(phone, ada, count, shelf):
    """A phone on which ada has counted two cases of butter with no network."""
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    ready_for_offline(tab)
    tab.context.set_offline(True)
    enter(tab, "butter", "2 c")
    expect(waiting(tab)).to_contain_text("1 entry waits on this phone")
    return tab


def test_signing_out_tells_the_kitchen_that_the_sheet_is_closed(
    phone, ada, count, shelf
):
    tab = phone(ada)
    with tab.expect_response("**/count/devices/"):
        open_sheet(tab, count, shelf)
    assert CountDevice.objects.get().is_open

    sign_out(tab)

    expect(tab.get_by_label("Password")).to_be_visible(timeout=PATIENCE_MS)
    assert not CountDevice.objects.get().is_open


LOOKS_AS_IT_SENDS = """
  const send = window.fetch;
  window.fetch = (address, ...rest) => {
    const sent = send(address, ...rest);
    if (String(address).includes("/sign-out/")) {
      dispatchEvent(new Event("pageshow"));
    }
    return sent;
  };
"""


def test_a_look_while_signing_out_does_not_cut_it_off(phone, ada, count, shelf):
    tab = phone(ada, LOOKS_AS_IT_SENDS)
    open_sheet(tab, count, shelf)
    seen = []
    tab.on("request", lambda request: seen.append(request.url))

    sign_out(tab)

    expect(tab.get_by_label("Password")).to_be_visible(timeout=PATIENCE_MS)
    assert not [url for url in seen if "/count/locked/" in url]


def test_signing_out_locks_the_sheet_with_no_network_and_keeps_what_was_entered(
    counted_offline, ada, count, shelf
):
    tab = counted_offline

    sign_out(tab)

    locked(tab)
    expect(tab.get_by_text("ada: 1 entry not sent.")).to_be_visible()
    tab.goto(f"/count/{count.pk}/{shelf.pk}/", timeout=PATIENCE_MS)
    locked(tab)
    assert "On record" not in tab.content()
    kept = tab.evaluate("caches.keys()")
    assert not [name for name in kept if name.startswith("count-pages")]

    # the kitchen hears of it with the next page that it is asked for
    tab.context.set_offline(False)
    tab.goto("/count/", timeout=PATIENCE_MS)
    expect(tab.get_by_label("Password")).to_be_visible(timeout=PATIENCE_MS)
    expect(tab.get_by_text("ada: 1 entry not sent.")).to_be_visible()
    assert not CountEntry.objects.exists()

    sign_in(tab, "ada")
    open_sheet(tab, count, shelf)
    sent(tab)
    assert texts(count) == {"butter": ["2 c"]}


def test_who_signs_in_second_counts_as_themselves_beside_the_first(
    counted_offline, ben, count, shelf
):
    tab = counted_offline
    tab.evaluate("() => { window.fetch = () => Promise.reject(new TypeError()); }")
    tab.context.set_offline(False)
    sign_out(tab)  # which is not heard at first, either
    expect(tab.get_by_label("Password")).to_be_visible(timeout=PATIENCE_MS)
    sign_in(tab, "ben")
    open_sheet(tab, count, shelf)
    expect(field(tab, "butter")).to_have_value("")
    ready_for_offline(tab)
    tab.context.set_offline(True)

    enter(tab, "butter", "3 c")
    tab.reload()
    ready(tab)
    expect(field(tab, "butter")).to_have_value("3 c")
    tab.context.set_offline(False)
    sent(tab)

    assert texts(count) == {"butter": ["3 c"]}
    assert CountEntry.objects.get().sent_by == ben
    sign_out(tab)
    expect(tab.get_by_text("ada: 1 entry not sent.")).to_be_visible(timeout=PATIENCE_MS)
    sign_in(tab, "ada")
    open_sheet(tab, count, shelf)
    expect(field(tab, "butter")).to_have_value("2 c")
    sent(tab)
    assert conflicts(count) == ("butter",)
    assert set(CountEntry.objects.values_list("by__username", "sent_by__username")) == {
        ("ada", "ada"),
        ("ben", "ben"),
    }


def test_the_worker_shows_nobody_elses_sheet(phone, ada, ben, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    ready_for_offline(tab)
    sign_in(tab, "ben")  # over her session, without signing out
    tab.context.set_offline(True)

    tab.goto(f"/count/{count.pk}/{shelf.pk}/", timeout=PATIENCE_MS)

    locked(tab, "This page needs a signal.")


def test_a_sheet_in_another_tab_is_locked_at_once(phone, ada, count, shelf):
    first = phone(ada)
    open_sheet(first, count, shelf)
    enter(first, "butter", "2 c")
    sent(first)
    field(first, "eggs").fill("3 of something")
    second = first.context.new_page()
    second.goto("/count/", timeout=PATIENCE_MS)

    sign_out(second)

    locked(first)
    expect(second.get_by_text("ada: 1 line typed, not entered.")).to_be_visible(
        timeout=PATIENCE_MS
    )
    assert "3 of something" not in second.content()


def test_an_expired_session_loses_nothing_and_gives_nothing_away(
    phone, ada, ben, count, shelf
):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    tab.context.clear_cookies()
    enter(tab, "butter", "2 c")
    expect(waiting(tab)).to_contain_text("Sign in again")

    tab.get_by_role("link", name="Sign in").tap()
    tab.get_by_label("Username").fill("ben")
    tab.get_by_label("Password").fill(PASSWORD)
    tab.get_by_role("button", name="Sign in").tap()
    tab.wait_for_url(re.compile(rf"/count/{count.pk}/{shelf.pk}/"), timeout=PATIENCE_MS)
    ready(tab)

    expect(field(tab, "butter")).to_have_value("")
    sent(tab)
    assert not CountEntry.objects.exists()
