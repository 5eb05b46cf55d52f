"""Printed pages: what is folded away on the screen is on paper, and no form is."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser


@pytest.fixture
def paper(demo_kitchen, open_tab, sign_in):
    tab = open_tab()
    sign_in(tab)
    tab.wait_for_url("/")
    tab.emulate_media(media="print")
    return tab


def test_warnings_on_the_plan_are_printed(paper):
    warnings = paper.locator("details", has_text="warnings")
    expect(warnings.locator("li").first).to_be_visible()


def test_orders_are_printed_with_the_later_ones_and_without_a_form(paper):
    paper.goto("/orders/")

    trucks = paper.locator(".truck table")
    assert trucks.count() > 1
    for number in range(trucks.count()):
        expect(trucks.nth(number)).to_be_visible()
    assert paper.locator(".later").count()
    assert not paper.locator("main input:visible, main button:visible").count()


def test_a_new_count_is_not_printed(paper):
    paper.goto("/count/")
    expect(paper.get_by_role("heading", name="Count", exact=True)).to_be_visible()
    assert not paper.locator("main input:visible").count()
