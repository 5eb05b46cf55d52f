"""A count on phones: the network cut, the tab killed, a wrong clock, two people."""

import re
from datetime import timedelta
from decimal import Decimal
from statistics import median
from uuid import uuid4

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Error, expect

from planning.demo import build_sheets
from planning.interchange.loading import load_kitchen
from stock import counting, levels
from stock.models import Count, CountEntry, Item, Place
from tests import build
from tests.browser.conftest import TODAY

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PATIENCE_MS = 30_000  # a busy machine loads two dozen modules slowly
PHONE = {
    "viewport": {"width": 390, "height": 844},
    "is_mobile": True,
    "has_touch": True,
}
CLOCK_AN_HOUR_AHEAD = """
  const Real = Date;
  globalThis.Date = class extends Real {
    constructor(...parts) {
      super(...(parts.length ? parts : [Real.now() + 3600e3]));
    }
    static now() { return Real.now() + 3600e3; }
  };
"""
LB_G = Decimal("453.59237")  # exact, NIST


@pytest.fixture
def shelf(transactional_db):
    """Butter by the case of 10 kg, flour by the bag of 20 kg, eggs by the flat."""
    place = build.place("walk-in")
    at = timezone.now() - timedelta(days=1)
    for name, measure, own, base in (
        ("butter", "mass", "case = 10 kg", 20_000),
        ("flour", "mass", "bag = 20 kg", 60_000),
        ("eggs", "count", "flat = 30 each", 90),
    ):
        item = build.item(name, measure=measure, own_units=own, place=place)
        build.stock(item, base, place=place, at=at)
    return place


@pytest.fixture
def count(shelf):
    now = timezone.now()
    return counting.open_count(counted_at=now, at=now)


@pytest.fixture
def phone(open_tab, live_server):
    """Open a phone in the hand of somebody who has signed in on it."""
    cookie = settings.SESSION_COOKIE_NAME

    def in_the_hand_of(person, script=None):
        client = Client()
        client.force_login(person)
        tab = open_tab(**PHONE)
        session = client.cookies[cookie].value
        tab.context.add_cookies(
            [{"name": cookie, "value": session, "url": live_server.url}]
        )
        if script:
            tab.context.add_init_script(script)
        return tab

    return in_the_hand_of


@pytest.fixture
def ada(transactional_db):
    return build.user("ada")


@pytest.fixture
def ben(transactional_db):
    return build.user("ben")


def open_sheet(tab, count, place):
    tab.goto(f"/count/{count.pk}/{place.pk}/")
    ready(tab)


def ready(tab):
    tab.wait_for_selector("[data-sheet][data-ready]", timeout=PATIENCE_MS)


def ready_for_offline(tab):
    """Wait until the worker has put away the page and all that it is made of."""
    tab.wait_for_function(
        """async () => {
      await navigator.serviceWorker.ready;
      const files = performance.getEntriesByType("resource")
        .map((entry) => entry.name)
        .filter((url) => new URL(url).pathname.startsWith("/static/"));
      const kept = [location.href, ...files].map((url) => caches.match(url));
      return (await Promise.all(kept)).every(Boolean);
    }""",
        timeout=PATIENCE_MS,
    )


def field(tab, name):
    return tab.get_by_label(re.compile(f"^{name}"), exact=False).first


def enter(tab, name, text):
    field(tab, name).fill(text)
    field(tab, name).press("Enter")


def waiting(tab):
    return tab.locator("[data-waiting]")


def sent(tab):
    bar = tab.locator("[data-standing]")
    expect(bar).to_have_attribute("data-stand", "sent", timeout=PATIENCE_MS)
    expect(waiting(tab)).to_have_text("Everything is sent.")


def texts(count):
    """What each person's newest entry on each line says."""
    standings = counting.sheets(count.pk)
    return {
        line.line.item.name: [entry.text for entry in line.others]
        for sheet in standings
        for line in sheet.lines
        if line.others
    }


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
    tab.get_by_text("Did you mean 2 cases?").wait_for()
    tab.get_by_role("button", name="I meant 2 cases").tap()

    expect(field(tab, "butter")).to_have_value("2 cases")
    sent(tab)
    assert CountEntry.objects.order_by("-pk")[0].amount_base == 20_000


def test_what_cannot_be_read_says_why_and_stays(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    enter(tab, "butter", "2")

    expect(tab.get_by_text("2 of what? Write 2 case.", exact=True)).to_be_visible()
    expect(field(tab, "butter")).to_have_attribute("aria-invalid", "true")
    expect(field(tab, "butter")).to_be_focused()
    assert not CountEntry.objects.exists()


def test_a_number_with_a_comma_is_told_how_to_write_it(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)
    echo = tab.locator("#" + field(tab, "butter").get_attribute("aria-describedby"))

    enter(tab, "butter", "1,000 lb")
    expect(echo).to_have_text("A comma cannot be read. Write 1000 or 1.000.")
    enter(tab, "butter", "2,5 lb")
    expect(echo).to_have_text("A comma cannot be read. Write 2.5.")


def test_quick_buttons_count_a_line_without_a_keyboard(phone, ada, count, shelf):
    tab = phone(ada)
    open_sheet(tab, count, shelf)

    field(tab, "flour").tap()
    tools = tab.locator(".count-tools")
    for name in ("tenths", ".4", "bag", "next"):
        tools.get_by_role("button", name=name, exact=True).tap()
    field(tab, "eggs").tap()
    tools.get_by_role("button", name="none").tap()

    expect(field(tab, "flour")).to_have_value("0.4 bag ")
    expect(field(tab, "eggs")).to_have_value("none")


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
    tab.wait_for_function("""async () => {
      const { drafts } = await import("/static/stock/count/queue.js");
      return (await drafts()).some(({ text }) => text === "2 ba");
    }""")

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


def test_two_people_on_one_line_are_told_and_decide_in_the_review(
    phone, ada, ben, count, shelf
):
    hers, his = phone(ada), phone(ben)
    open_sheet(hers, count, shelf)
    open_sheet(his, count, shelf)
    enter(hers, "butter", "2 c")
    enter(his, "butter", "21 kg")
    sent(hers)
    sent(his)

    hers.goto(f"/count/{count.pk}/review/")
    expect(hers.get_by_text("Decide on butter first.")).to_be_visible()
    hers.get_by_role("button", name="ben: 21 kg").tap()

    expect(hers.get_by_text("21 kg counted, 2 cases on record")).to_be_visible()


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


def an_entry(count, place, name, text):
    return counting.EntryIn(
        key=uuid4(),
        count_id=count.pk,
        place_id=place.pk,
        item_id=Item.objects.get(name=name).pk,
        text=text,
        entered_at=timezone.now(),
    )


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
    assert levels.on_hand_base_by_item()[butter.pk] == 10_000


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
    assert names == ["butter", "eggs", "flour"]


@pytest.mark.parametrize("page", ["/count/", "review/", "paper/", "type-in/", "drop/"])
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


REACH_IN = {
    "raspberries": "1 clamshell",  # two on record
    "strawberries": "1 clamshell",
    "lemons": "1 1/2 bag 9 each",
    "Dark ganache": "2 1/4 lb",
    "Lemon curd": "1 1/2 lb",
    "Meringue buttercream": "4 lb",
    "Simple syrup": "3 cup",
}
FREEZER = {
    "frozen raspberries": "4 bags and 3 lb",
    "Chocolate layers": "7 lb",
    "unsalted butter": "2 lb",  # three on record
    "Vanilla butter layers": "4.5 lb",
}


def test_a_count_of_the_demo_kitchen_on_two_phones_one_offline_posts_the_right_ledger(
    phone, ada, ben
):
    load_kitchen(build_sheets(TODAY), at=timezone.now() - timedelta(days=1))
    before = levels.on_hand_base_by_item()
    reach_in, freezer = (
        Place.objects.get(name=name) for name in ("reach-in", "freezer")
    )
    hers, his = phone(ada), phone(ben)
    hers.goto("/count/")
    for name in (
        "dry rack",
        "bins",
        "walk-in",
        "decorating cupboard",
        "packaging loft",
    ):
        hers.get_by_label(name).uncheck()
    hers.get_by_role("button", name="Start counting").tap()
    ready(hers)
    count = Count.objects.get()
    open_sheet(his, count, freezer)
    ready_for_offline(his)
    his.context.set_offline(True)

    for name, text in REACH_IN.items():
        enter(hers, name, text)
        answer_as_entered(hers)
    for name, text in FREEZER.items():
        enter(his, name, text)
        answer_as_entered(his)
    sent(hers)
    expect(waiting(his)).to_contain_text("wait on this phone")
    his.context.set_offline(False)
    sent(his)
    hers.goto(f"/count/{count.pk}/review/")
    hers.get_by_role("button", name="Counting is done").tap()
    hers.get_by_role("button", name="Post this count").tap()
    expect(hers.get_by_text("The record of 2 items was corrected.")).to_be_visible()

    after = levels.on_hand_base_by_item()
    changed = {
        Item.objects.get(pk=pk).name: after[pk] - before[pk]
        for pk in before
        if after[pk] != before[pk]
    }
    # a clamshell is 6 oz; both halves are rounded to the ledger's ten-thousandth
    assert changed == {
        "raspberries": pytest.approx(-6 * LB_G / 16, abs=Decimal("0.0001")),
        "unsalted butter": pytest.approx(-LB_G, abs=Decimal("0.0001")),
    }
    assert reach_in in count.places.all()


def answer_as_entered(tab):
    button = tab.locator("[data-answer='as entered']")
    if button.count():
        button.tap()
