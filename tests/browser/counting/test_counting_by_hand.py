"""A count sheet under the fingers: typed, tapped, by the keyboard alone, read aloud."""

from statistics import median

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.utils import timezone
from playwright.sync_api import expect

from stock.counts import counting
from stock.models import CountEntry, Item
from tests import build
from tests.browser.counting.phones import (
    PHONE,
    an_entry,
    enter,
    field,
    open_sheet,
    sent,
)
from tests.on_hand import on_hand_base_by_item

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_an_entry_is_echoed_kept_and_sent(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    field(tab, "butter").type("2c 5k")
    echo = tab.locator("#" + field(tab, "butter").get_attribute("aria-describedby"))
    expect(echo).to_have_text("2 cases + 5 kg = 25 kg")
    field(tab, "butter").press("Enter")

    expect(echo).to_have_text("2 cases + 5 kg = 25 kg. On record 2 cases.")
    expect(field(tab, "eggs")).to_be_focused()
    expect(tab.locator("[data-left]")).to_have_text("2 of 3 left")
    sent(tab)
    assert CountEntry.objects.get().amount_base == 25_000


def test_a_slip_is_asked_about_and_one_tap_takes_the_other_reading(
    phone, ada, count, shelf
):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    enter(tab, "butter", "2 kg")
    tab.get_by_text("Did you mean 2 cases?", exact=True).wait_for()
    tab.get_by_role("button", name="I meant 2 cases").tap()

    expect(field(tab, "butter")).to_have_value("2 cases")
    sent(tab)
    assert CountEntry.objects.order_by("-pk")[0].amount_base == 20_000


def test_a_question_is_asked_again_after_the_page_was_opened_anew(
    phone, ada, count, shelf
):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    enter(tab, "butter", "2 kg")
    tab.get_by_text("Did you mean 2 cases?", exact=True).wait_for()
    sent(tab)

    tab.reload()
    open_sheet(tab, count, shelf)
    expect(tab.get_by_text("Did you mean 2 cases?", exact=True)).to_have_count(1)
    tab.get_by_role("button", name="It is 2 kg").tap()
    sent(tab)
    open_sheet(tab, count, shelf)

    expect(tab.get_by_text("Did you mean 2 cases?", exact=True)).to_have_count(0)
    assert CountEntry.objects.filter(confirmed=True).count() == 1


def test_a_bare_number_means_the_unit_beside_the_field(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    unit = tab.get_by_role("button", name="A bare number of butter means")
    echo = tab.locator("#" + field(tab, "butter").get_attribute("aria-describedby"))

    field(tab, "butter").type("2")
    expect(unit).to_have_text("unit?")  # 10 kg a case is more than a hand means by 2
    for word in ("g", "kg", "case"):
        unit.tap()
        expect(unit).to_have_text(word)
    expect(echo).to_have_text("2 cases = 20 kg")
    field(tab, "butter").press("Enter")

    expect(field(tab, "butter")).to_have_value("2 case")
    sent(tab)
    assert CountEntry.objects.get().amount_base == 20_000


def test_what_is_counted_is_echoed_by_its_name(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    echo = tab.locator("#" + field(tab, "eggs").get_attribute("aria-describedby"))

    field(tab, "eggs").type("89")

    expect(echo).to_have_text("89 eggs")


def test_what_was_typed_is_kept_beside_the_unit_it_was_given(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    enter(tab, "eggs", "3")
    sent(tab)
    open_sheet(tab, count, shelf)
    tab.get_by_role("button", name="It is 3 eggs").tap()
    sent(tab)

    said = [(row.typed, row.text) for row in CountEntry.objects.all()]
    assert said == [("3", "3 each"), ("3", "3 each")]


def test_a_bare_number_of_what_is_weighed_is_asked_about(phone, ada, count, shelf):
    build.item("sugar", place=shelf)
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    enter(tab, "sugar", "5")
    expect(field(tab, "sugar")).to_be_focused()
    buttons = tab.locator(".count-ask button")
    expect(buttons).to_have_text(["5 g", "5 oz", "5 lb", "5 kg"])
    assert not CountEntry.objects.exists()
    buttons.nth(3).tap()

    expect(field(tab, "sugar")).to_have_value("5 kg")
    sent(tab)
    assert CountEntry.objects.get().amount_base == 5_000


def test_what_cannot_be_read_says_why_and_stays(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    enter(tab, "butter", "2 buckets")

    echo = tab.locator("#" + field(tab, "butter").get_attribute("aria-describedby"))
    expect(echo).to_contain_text("“buckets” isn't a unit of butter.")
    expect(field(tab, "butter")).to_have_attribute("aria-invalid", "true")
    expect(field(tab, "butter")).to_be_focused()
    assert not CountEntry.objects.exists()


def test_a_number_with_a_comma_is_asked_about(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    echo = tab.locator("#" + field(tab, "butter").get_attribute("aria-describedby"))

    enter(tab, "butter", "1,000 lb")
    expect(echo).to_contain_text("“1,000 lb” could be 1000 lb or 1 lb.")
    enter(tab, "butter", "2,5 lb")
    expect(echo).to_contain_text("Did you mean 2 1/2 lb?")


def test_quick_buttons_count_a_line_without_a_keyboard(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    field(tab, "flour").tap()
    tools = tab.locator(".count-tools")
    for name in ("tenths", ".4", "bag", "next"):
        tools.get_by_role("button", name=name, exact=True).tap()
    field(tab, "eggs").tap()
    tools.get_by_role("button", name="none").tap()

    expect(field(tab, "flour")).to_have_value("0.4 bag")
    expect(field(tab, "eggs")).to_have_value("none")


def test_a_whole_count_with_the_keyboard_alone(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    keys = tab.keyboard
    reach(tab, "#" + field(tab, "butter").get_attribute("id"))
    for text in ("1 c", "3 flats", "3 bags"):
        keys.type(text)
        keys.press("Enter")
        if tab.locator("[data-answer]").count():
            keys.press("Enter")  # it is as entered
    sent(tab)

    reach(tab, f'a[href="/count/{count.pk}/review/"]')
    keys.press("Enter")
    for label in ("Counting is done", "Post this count"):
        tab.get_by_role("button", name=label).wait_for()
        reach(tab, f'button:text-is("{label}")')
        keys.press("Enter")

    expect(tab.get_by_text("The record of 1 item was corrected.")).to_be_visible()
    butter = Item.objects.get(name="butter")
    assert on_hand_base_by_item()[butter.pk] == 10_000


def reach(tab, selector):
    """Press Tab until the element has the focus."""
    for _ in range(80):
        if tab.locator(selector).first.evaluate(
            "node => node === document.activeElement"
        ):
            return
        tab.keyboard.press("Tab")
    pytest.fail(f"Tab never reaches {selector}")


def test_every_field_has_a_name_and_axe_finds_nothing(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    enter(tab, "butter", "2 kg")  # with a question and the buttons in view

    found = Axe().run(tab, options={"rules": {"target-size": {"enabled": True}}})

    assert found.violations_count == 0, found.generate_report()
    names = tab.locator("[data-amount]").evaluate_all(
        "fields => fields.map((field) => field.labels[0].innerText.trim())"
    )
    assert names == ["Butter", "Eggs", "Flour"]


@pytest.mark.parametrize(
    "page", ["/count/", "review/", "paper/", "type-in/", "discard/"]
)
def test_axe_finds_nothing_on_the_other_pages(phone, ada, count, shelf, page):
    entries = [an_entry(count, shelf, "butter", "1 case")]
    counting.take_entries(entries, at=timezone.now(), sent_by_id=ada.pk)
    tab = phone(ada)
    tab.goto(page if page.startswith("/") else f"/count/{count.pk}/{page}")

    found = Axe().run(tab)

    assert found.violations_count == 0, found.generate_report()
    width = tab.evaluate("document.documentElement.scrollWidth")
    assert width <= PHONE["viewport"]["width"]


def test_sixty_lines_take_at_most_five_keys_a_line_and_one_page(phone, ada):
    """Typed as people do: first letters, then Enter; counted in the browser."""
    typed = 20 * ["3c"] + 12 * ["2.4c"] + 10 * ["12kg"] + 10 * ["1/2c"] + 8 * ["2c 6kg"]
    place = build.place("dry rack")
    for number in range(len(typed)):
        build.item(f"item {number:02}", own_units="case = 10 kg", place=place)
    now = timezone.now()
    count = counting.open_count(counted_at=now, at=now)
    tab = phone(ada)
    loads = []
    tab.on("framenavigated", lambda frame: loads.append(frame.url))
    open_sheet(tab, count, place)
    tab.evaluate("""() => {
      globalThis.keysByLine = {};
      addEventListener("keydown", ({ target }) => {
        keysByLine[target.id] = (keysByLine[target.id] ?? 0) + 1;
      }, true);
    }""")

    field(tab, "item 00").tap()
    for text in typed:
        tab.keyboard.type(text)
        tab.keyboard.press("Enter")

    expect(tab.locator("[data-left]")).to_have_text("All 60 counted")
    sent(tab)
    keys = list(tab.evaluate("keysByLine").values())
    assert len(keys) == 60
    assert median(keys) <= 5
    assert len(loads) == 1
    assert CountEntry.objects.filter(kept="").count() == 60
