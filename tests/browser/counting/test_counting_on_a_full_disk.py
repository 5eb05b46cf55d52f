"""A phone that refuses to store: it is said until it is true, and nothing is lost."""

import pytest
from playwright.sync_api import expect

from stock.models import CountEntry
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    enter,
    field,
    open_sheet,
    ready,
    sent,
    waiting,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FULL = """
  const refuse = (original) => function (...given) {
    if (globalThis.isFull ?? true) {
      throw new DOMException("The disk is full", "QuotaExceededError");
    }
    return original.apply(this, given);
  };
  for (const name of ["add", "put"]) {
    IDBObjectStore.prototype[name] = refuse(IDBObjectStore.prototype[name]);
  }
"""
NO_JOURNAL = FULL + "Storage.prototype.setItem = refuse(Storage.prototype.setItem);"
NOT_OPENED = """
  indexedDB.open = () => { throw new DOMException("no", "SecurityError"); };
"""
SAID = "line is not on this phone's disk yet: The disk is full."


def unstored(tab):
    return tab.locator("[data-unstored]")


def hidden_meanwhile(tab):
    """How often the message went away in the time of one more try."""
    return tab.evaluate("""async () => {
      let times = 0;
      const node = document.querySelector("[data-unstored]");
      const watch = new MutationObserver(() => { times += node.hidden; });
      watch.observe(node, { attributes: true, childList: true });
      await new Promise((resolve) => { setTimeout(resolve, 11_000); });
      return times;
    }""")


@pytest.fixture
def full_phone(phone, ada, count, shelf):
    tab = phone(ada, FULL)
    open_sheet(tab, count, shelf)
    ready_for_offline(tab)
    tab.context.set_offline(True)
    enter(tab, "butter", "2 c")
    return tab


def test_the_message_stays_until_it_is_true(full_phone):
    tab = full_phone
    expect(unstored(tab)).to_contain_text(SAID)
    expect(waiting(tab)).to_contain_text("1 entry waits on this phone")

    tab.evaluate("dispatchEvent(new Event('online'))")  # tried, and no network yet
    field(tab, "eggs").type("3")
    expect(unstored(tab)).to_contain_text("not on this phone's disk yet")
    expect(waiting(tab)).not_to_contain_text("Everything is sent")

    assert hidden_meanwhile(tab) == 0  # while it is tried again, and refused again

    tab.evaluate("globalThis.isFull = false")
    expect(unstored(tab)).to_be_hidden(timeout=30_000)  # it is tried again by itself
    expect(waiting(tab)).to_contain_text("1 entry waits on this phone")


def test_what_the_disk_refused_is_there_after_a_reload(full_phone):
    full_phone.reload()
    ready(full_phone)

    expect(field(full_phone, "butter")).to_have_value("2 c")
    expect(waiting(full_phone)).to_contain_text("1 entry waits on this phone")


def test_what_the_disk_refused_is_sent_all_the_same(full_phone):
    full_phone.context.set_offline(False)
    full_phone.evaluate("dispatchEvent(new Event('online'))")

    expect(unstored(full_phone)).to_be_hidden()
    sent(full_phone)
    assert CountEntry.objects.get().text == "2 c"


def test_where_nothing_can_be_written_the_page_is_not_left(phone, ada, count, shelf):
    tab = phone(ada, NO_JOURNAL)
    open_sheet(tab, count, shelf)
    tab.context.set_offline(True)
    enter(tab, "butter", "2 c")
    asked = []
    tab.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.dismiss()))

    expect(unstored(tab)).to_contain_text("Stay on this page.")
    tab.get_by_role("link", name="Review this count").tap()

    expect(field(tab, "butter")).to_have_value("2 c")
    assert asked in ([], ["beforeunload"])
    tab.context.set_offline(False)
    tab.evaluate("dispatchEvent(new Event('online'))")
    sent(tab)
    assert CountEntry.objects.get().text == "2 c"


def test_a_phone_without_a_store_counts_all_the_same(phone, ada, count, shelf):
    tab = phone(ada, NOT_OPENED)
    open_sheet(tab, count, shelf)

    enter(tab, "butter", "2 c")

    sent(tab)
    assert CountEntry.objects.get().text == "2 c"
