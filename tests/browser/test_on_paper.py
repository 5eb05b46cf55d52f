"""Printed pages: what is folded away on the screen is on paper, and no form is."""

import pytest
from playwright.sync_api import expect

from tests.libreoffice import pdf_pages

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


def test_a_making_list_is_printed_with_no_recipe_broken_and_numbered_pages(
    paper, tmp_path
):
    names = busy_making_list(paper)
    file = tmp_path / "making.pdf"

    paper.pdf(path=file, format="Letter", prefer_css_page_size=True)

    pages = [" ".join(text.split()) for text in pdf_pages(file)]
    assert len(pages) <= len(names) / 3 + 1  # about four a page, then the cakes
    for number, text in enumerate(pages, start=1):
        assert text.endswith(f"page {number} of {len(pages)}")
        heads = sum(f"{name} " in text and text.count("For ") > 0 for name in names)
        ends = text.count("from the labels entered") + text.count("No allergen entered")
        assert ends <= heads


def busy_making_list(tab):
    """Open the list of a day with four recipes or more; return their names."""
    tab.goto("/making/")
    while (names := tab.locator(".making-recipe h2")).count() < 4:
        day_after = tab.get_by_role("link", name="Day after", include_hidden=True)
        tab.goto(f"/making/{day_after.get_attribute('href')}")
    return names.all_inner_texts()
