"""A disk that never answers: links and forms are held a moment, then they go.

What is in hand is in the journal by then, and the next page takes it up.
"""

import re

import pytest
from playwright.sync_api import expect

from stock.models import Bakery, CountEntry
from tests.browser.counting.phones import (
    PATIENCE_MS,
    enter,
    field,
    open_sheet,
    ready,
    waiting,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# A transaction that goes on asking: whatever is written after it waits in line.
HANG = """() => new Promise((resolve) => {
  indexedDB.open("counts").onsuccess = ({ target: { result: database } }) => {
    const names = [...database.objectStoreNames];
    const store = database.transaction(names, "readwrite").objectStore("typed");
    const again = () => { store.count().onsuccess = again; };
    again();
    resolve();
  };
})"""


@pytest.fixture
def hung_phone(phone, ada, count, shelf):
    """A phone on which one line is entered and one typed, and nothing is stored."""
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    tab.context.set_offline(True)
    tab.evaluate(HANG)
    enter(tab, "butter", "2 c")
    field(tab, "eggs").fill("1 of something")
    tab.context.set_offline(False)
    return tab


def nothing_is_lost(tab):
    expect(field(tab, "butter")).to_have_value("2 c")
    expect(field(tab, "eggs")).to_have_value("1 of something")
    said = re.compile("^Everything (entered )?is sent")
    expect(waiting(tab)).to_have_text(said, timeout=PATIENCE_MS)
    assert {entry.text for entry in CountEntry.objects.all()} == {"2 c"}


def test_a_form_goes_once_it_was_held_long_enough(hung_phone):
    zone = hung_phone.get_by_label("Which time zone is the kitchen in?")
    zone.fill("America/Denver")

    hung_phone.get_by_role("button", name="Save").tap()

    said = hung_phone.get_by_text("Days are told on the clock of America/Denver.")
    expect(said).to_be_visible(timeout=PATIENCE_MS)
    ready(hung_phone)
    nothing_is_lost(hung_phone)
    assert Bakery.objects.get().time_zone == "America/Denver"


def test_a_link_goes_once_it_was_held_long_enough(hung_phone, count, shelf):
    hung_phone.get_by_role("link", name="Review this count").tap()

    hung_phone.wait_for_url("**/review/", timeout=PATIENCE_MS)
    open_sheet(hung_phone, count, shelf)
    nothing_is_lost(hung_phone)


def test_the_page_itself_is_sent_while_the_disk_is_tried_again(hung_phone):
    button = hung_phone.get_by_role("button", name="Save these entries")
    expect(button).to_be_visible(timeout=PATIENCE_MS)  # after eight seconds

    button.tap()

    kept = hung_phone.get_by_text("1 line could not be read")
    expect(kept).to_be_visible(timeout=PATIENCE_MS)
    ready(hung_phone)
    nothing_is_lost(hung_phone)
