"""An order is received at the door, on a phone: two taps, or line by line."""

import pytest
from playwright.sync_api import expect

from planning.models import Order
from stock.ledger.verifying import verify_ledger
from stock.models import Movement, Pack
from tests import build
from tests.browser.conftest import TODAY

pytestmark = pytest.mark.browser

PHONE = {"viewport": {"width": 390, "height": 800}, "has_touch": True}
LINES = 12


@pytest.fixture
def order(demo_kitchen):
    """Two packs each of twelve lines of one supplier, due today."""
    packs = Pack.objects.filter(retired=False).order_by("supplier", "pk")
    by_supplier = {}
    for pack in packs.select_related("item"):
        by_supplier.setdefault(pack.supplier_id, []).append(pack)
    most = max(by_supplier.values(), key=len)
    if len(most) < LINES:
        most += [build.pack(build.item(place=most[0].item.place), most[0].supplier)]
    lines = [(pack, 2) for pack in most[:LINES]]
    assert len(lines) == LINES
    return build.order(
        most[0].supplier, reference="2026-777", deliver_on=TODAY, lines=lines
    )


@pytest.fixture
def tab(open_tab, sign_in):
    page = open_tab(**PHONE)
    sign_in(page)
    expect(heading(page)).to_have_text("Today")
    return page


def heading(tab):
    return tab.get_by_role("heading", level=1)


def said(tab, words):
    expect(tab.get_by_role("status")).to_contain_text(words)


def received():
    assert verify_ledger().is_whole
    return Movement.objects.filter(kind="received")


def test_twelve_lines_as_ordered_take_two_taps(order, tab):
    tab.goto(f"/orders/{order.pk}/")

    tab.get_by_role("link", name="Receive", exact=True).tap()
    tab.get_by_role("button", name="All as ordered").tap()

    said(tab, "12 lines received.")
    assert received().count() == LINES
    tab.get_by_role("button", name="Undo").tap()
    said(tab, "undone")
    assert sum(received().values_list("amount_base", flat=True)) == 0
    assert Order.objects.get(pk=order.pk).state == "sent"


def test_today_leads_to_the_door(order, tab):
    tab.goto("/")

    tab.get_by_role("link", name="Receive 2026-777").tap()

    expect(tab.get_by_role("button", name="All as ordered")).to_be_visible()


def test_one_fewer_is_two_taps_and_says_what_is_missing(order, tab):
    tab.goto(f"/orders/{order.pk}/receive/")
    line = tab.locator("details.receive-line").first
    line.locator("summary").tap()

    line.get_by_role("button", name="One fewer of").tap()

    assert line.get_by_text("1 of 2 missing.").is_visible()
    line.get_by_role("button", name="Save line").tap()
    said(tab, "Still to come")
    assert received().count() == 1
    assert tab.get_by_role("button", name="Rest as ordered").is_visible()


def test_every_target_at_the_door_is_48_px(order, tab):
    tab.goto(f"/orders/{order.pk}/receive/")
    tab.locator("details.receive-line summary").first.tap()

    heights = tab.get_by_role("main").evaluate(
        """(main) => [...main.querySelectorAll("button, summary, input, .choice")]
          .filter((each) => each.type !== "radio" && each.offsetParent)
          .filter((each) => each.getBoundingClientRect().height < 48)
          .map((each) => each.outerHTML)"""
    )

    assert heights == []


def test_without_scripts_a_line_is_saved_with_its_number(order, open_tab, sign_in):
    tab = open_tab(java_script_enabled=False, **PHONE)
    sign_in(tab)
    expect(heading(tab)).to_have_text("Today")
    tab.goto(f"/orders/{order.pk}/receive/")
    line = tab.locator("details.receive-line").first
    line.locator("summary").click()

    assert not line.get_by_role("button", name="One fewer of").is_visible()
    line.get_by_label("Came").fill("1")
    line.get_by_role("button", name="Save line").click()

    said(tab, "received")
    assert received().count() == 1
