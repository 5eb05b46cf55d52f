"""Hardware keyboards bounce and are held down: a question is answered on purpose."""

import pytest
from playwright.sync_api import expect

from stock.models import CountEntry
from tests.browser.counting.phones import enter, field, open_sheet, sent

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def asked(phone, ada, count, shelf):
    """Two cases are on record, and two kilos were entered: a question stands."""
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    enter(tab, "butter", "2 kg")
    tab.get_by_role("button", name="It is 2 kg").wait_for()
    return tab


@pytest.mark.parametrize("key", ["Enter", "Space"])
def test_a_key_that_bounces_answers_no_question(asked, key):
    asked.keyboard.press(key)
    asked.keyboard.press(key)

    expect(asked.get_by_role("button", name="It is 2 kg")).to_be_visible()
    expect(field(asked, "butter")).to_be_focused()
    sent(asked)
    entry = CountEntry.objects.get()
    assert (entry.asked, entry.confirmed) == ("pack", False)


def test_tab_and_a_key_answer_it_on_purpose(asked):
    asked.keyboard.press("Tab")
    asked.keyboard.press("Tab")
    expect(asked.get_by_role("button", name="I meant 2 cases")).to_be_focused()
    asked.keyboard.press("Space")

    expect(field(asked, "butter")).to_have_value("2 cases")
    sent(asked)
    assert CountEntry.objects.order_by("-pk")[0].amount_base == 20_000


def test_an_enter_that_bounces_or_is_held_skips_no_line(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    field(tab, "butter").fill("2 c")

    tab.evaluate("""() => {
      for (const repeat of [false, true, true]) {
        const options = { key: "Enter", bubbles: true, cancelable: true, repeat };
        document.activeElement.dispatchEvent(new KeyboardEvent("keydown", options));
      }
      const bounce = { key: "Enter", bubbles: true, cancelable: true };
      document.activeElement.dispatchEvent(new KeyboardEvent("keydown", bounce));
    }""")

    expect(field(tab, "eggs")).to_be_focused()
