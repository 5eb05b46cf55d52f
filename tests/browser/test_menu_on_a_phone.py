"""The menu: one row; on a phone, four pages in it and the rest behind "More"."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PHONES = (390, 320)
DESK = 1280
BEHIND_MORE = "Can we take it?"


@pytest.fixture(params=[True, False], ids=["scripts", "no scripts"])
def at(request, demo_kitchen, open_tab, sign_in):
    """Open Today in a window of this width."""

    def open_at(width):
        size = {"width": width, "height": 844}
        tab = open_tab(java_script_enabled=request.param, viewport=size)
        sign_in(tab)
        tab.get_by_role("heading", name="Today", level=1).wait_for()
        return tab

    return open_at


def menu(tab):
    return tab.get_by_role("navigation", name="Pages")


def tops(tab):
    """How far down each thing stands that can be tapped in the menu."""
    targets = menu(tab).locator("a:visible, summary:visible").all()
    return {round(target.bounding_box()["y"]) for target in targets}


@pytest.mark.parametrize("width", PHONES)
def test_a_phone_has_one_row_and_more(at, width):
    tab = at(width)
    page = tab.get_by_role("main").bounding_box()["y"]

    assert len(tops(tab)) == 1
    expect(menu(tab).get_by_role("link", name=BEHIND_MORE)).to_be_hidden()

    menu(tab).get_by_text("More").click()
    assert tab.get_by_role("main").bounding_box()["y"] == page  # stays where it is
    menu(tab).get_by_role("link", name=BEHIND_MORE).click()
    tab.get_by_role("heading", name=BEHIND_MORE, level=1).wait_for()


def test_a_wide_window_has_all_pages_in_one_row(at):
    tab = at(DESK)

    assert len(tops(tab)) == 1
    expect(menu(tab).get_by_role("link", name=BEHIND_MORE)).to_be_visible()
    expect(menu(tab).get_by_text("More")).to_be_hidden()


def test_a_tap_beside_it_or_escape_closes_it(demo_kitchen, open_tab, sign_in):
    tab = open_tab(viewport={"width": 390, "height": 844})
    sign_in(tab)
    tab.get_by_role("heading", name="Today", level=1).wait_for()
    link = menu(tab).get_by_role("link", name=BEHIND_MORE)

    for close in (
        lambda: tab.keyboard.press("Escape"),
        lambda: tab.get_by_role("banner").click(position={"x": 200, "y": 20}),
    ):
        menu(tab).get_by_text("More").click()
        expect(link).to_be_visible()
        close()
        expect(link).to_be_hidden()
