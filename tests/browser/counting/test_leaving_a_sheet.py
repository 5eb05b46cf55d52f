"""Whoever leaves a sheet in a hurry loses nothing: not the line in hand, not offline.

Each run types one line and is gone: by a tap on another place, with or without an
Enter just before it, on a processor slowed four times. Twenty runs of each case; more
by `--leaving-runs 200`, and `-s` shows the figures.
"""

from time import monotonic

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from stock.counts import counting
from stock.counts.devices import open_devices
from stock.models import CountEntry, CountTyped, Item
from tests import build
from tests.browser.counting.kept import ready_for_offline
from tests.browser.counting.phones import (
    PATIENCE_MS,
    enter,
    field,
    open_sheet,
    ready,
    sent,
)

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SLOWED_TIMES = 4


@pytest.fixture
def two_places(transactional_db):
    """Butter in the walk-in, flour on the rack; each sheet names the other place."""
    places = {"butter": build.place("walk-in"), "flour": build.place("rack")}
    for name, place in places.items():
        for each in (name, f"{name} of yesterday"):  # Enter goes on to that, in sight
            build.item(each, own_units="case = 10 kg", place=place)
    now = timezone.now()
    return counting.open_count(counted_at=now, at=now), places


def slow_down(tab):
    """Slow the processor; and show the whole sheet, so that no Enter scrolls it."""
    tab.set_viewport_size({"width": 390, "height": 1_600})
    session = tab.context.new_cdp_session(tab)
    session.send("Emulation.setCPUThrottlingRate", {"rate": SLOWED_TIMES})


def way_to(tab, place):
    """Where the link to another place is; everything above the lines stays there."""
    tab.get_by_text("Other places of this count").tap()
    link = tab.get_by_role("link", name=place.name).first
    link.wait_for()
    return link.bounding_box()


def hurry(tab, text, way, *, with_enter):
    """Type, and be gone: all keys and the tap follow each other at once."""
    first = tab.locator("[data-amount]").first
    first.evaluate("(field) => { field.focus(); field.select(); }")
    tab.keyboard.insert_text(text)
    if with_enter:
        tab.keyboard.press("Enter")
    tab.touchscreen.tap(way["x"] + way["width"] / 2, way["y"] + way["height"] / 2)


@pytest.mark.parametrize("with_enter", [False, True], ids=["tap", "enter then tap"])
@pytest.mark.parametrize("is_online", [True, False], ids=["online", "offline"])
def test_no_line_is_lost_by_leaving(
    phone, ada, two_places, is_online, with_enter, leaving_runs
):
    count, places = two_places
    tab = phone(ada)
    for place in places.values():
        open_sheet(tab, count, place)
        ready_for_offline(tab)
    slow_down(tab)
    tab.context.set_offline(not is_online)
    walk = list(places.items())[::-1]  # the sheet of flour is open

    for run in range(leaving_runs):
        (name, _), (_, place) = walk[run % 2], walk[(run + 1) % 2]
        expect(field(tab, name)).to_be_visible()
        hurry(tab, f"{run + 1} kg", way_to(tab, place), with_enter=with_enter)
        tab.wait_for_url(f"**/count/{count.pk}/{place.pk}/**", timeout=PATIENCE_MS)
        ready(tab)

    assert is_online or not CountEntry.objects.exists()
    tab.context.set_offline(False)
    tab.evaluate("dispatchEvent(new Event('online'))")
    sent(tab)
    kept = set(CountEntry.objects.values_list("text", flat=True))
    lost = {f"{run + 1} kg" for run in range(leaving_runs)} - kept
    print(f"\nkept {leaving_runs - len(lost)} of {leaving_runs}")
    assert not lost


def test_what_is_typed_and_not_entered_is_said_on_every_page_of_the_count(
    phone, ada, two_places
):
    count, places = two_places
    tab = phone(ada)
    open_sheet(tab, count, places["butter"])
    field(tab, "butter").fill("2 of something")
    said = "1 line is typed, not entered: butter in walk-in, “2 of something”"

    for page in (f"{places['flour'].pk}/", "review/", "paper/", "type-in/", "discard/"):
        tab.goto(f"/count/{count.pk}/{page}")
        expect(tab.get_by_text(said)).to_be_visible()
    tab.goto("/count/")
    expect(tab.get_by_text(said)).to_be_visible()
    expect(tab.get_by_text("Everything is sent.")).to_be_hidden()
    tab.get_by_role("link", name="butter in walk-in").tap()

    ready(tab)
    expect(field(tab, "butter")).to_be_focused()
    expect(field(tab, "butter")).to_have_value("2 of something")
    enter(tab, "butter", "2 kg")
    sent(tab)
    expect(tab.get_by_text("typed, not entered")).to_be_hidden()


def heard(tab, is_so):
    """Wait until the kitchen has heard it: a phone may report earlier things first."""
    until = monotonic() + PATIENCE_MS / 1_000
    while not is_so():
        assert monotonic() < until
        tab.wait_for_timeout(50)


def tells_what_is_typed(request):
    return "/devices/" in request.url and '"text"' in (request.post_data or "")


def test_the_review_on_another_phone_says_what_is_typed_and_which_sheet_is_open(
    phone, ada, ben, two_places
):
    count, places = two_places
    hers, his = phone(ada), phone(ben)
    open_sheet(hers, count, places["butter"])
    with hers.expect_request(tells_what_is_typed):  # long before the last letter
        field(hers, "butter").press_sequentially("2 of some", delay=200)
        assert CountTyped.objects.exists()
    field(hers, "butter").press_sequentially("thing")
    heard(hers, CountTyped.objects.filter(text="2 of something").exists)

    his.goto(f"/count/{count.pk}/review/")

    expect(
        his.get_by_text("Phone of ada: its sheet is open, 1 line typed, not entered")
    ).to_be_visible()
    line = "butter in walk-in: “2 of something”"
    expect(his.get_by_role("link", name=line)).to_be_visible()
    enter(hers, "butter", "2 kg")
    heard(hers, lambda: not CountTyped.objects.exists())
    hers.goto("/count/")
    heard(hers, lambda: not open_devices(count.pk))
    his.reload()
    expect(his.get_by_text("Still open on phones")).to_be_hidden()


def test_what_was_typed_for_a_count_that_is_over_is_read_and_discarded(
    phone, ada, two_places
):
    count, places = two_places
    tab = phone(ada)
    open_sheet(tab, count, places["butter"])
    field(tab, "butter").fill("2 of something")
    counting.discard(count.pk, at=timezone.now())

    tab.goto("/count/", timeout=PATIENCE_MS)
    tab.get_by_role("link", name="butter in walk-in").tap()

    said = "butter in walk-in, “2 of something”. Enter it in the next count."
    expect(tab.get_by_text(said)).to_be_visible(timeout=PATIENCE_MS)
    tab.get_by_role("button", name="Discard", exact=True).tap()
    expect(tab.get_by_text("typed, not entered")).to_be_hidden()
    tab.reload()
    expect(tab.get_by_text("typed, not entered")).to_be_hidden()


def test_what_was_typed_on_a_line_that_is_gone_is_said_on_its_sheet(
    phone, ada, two_places
):
    count, places = two_places
    tab = phone(ada)
    open_sheet(tab, count, places["butter"])
    field(tab, "butter").fill("2 of something")
    tab.goto("/count/", timeout=PATIENCE_MS)
    Item.objects.filter(name="butter").update(retired=True)

    open_sheet(tab, count, places["butter"])

    said = "butter in walk-in, “2 of something”. Enter it in the next count."
    expect(tab.get_by_text(said)).to_be_visible()
