"""A day's work with JavaScript switched off: from a new item to the order sent.

A made-up cake takes 8 oz of orange oil, of which the shelf holds 12 oz; three of them
take 24 oz, so 12 oz are short, which one bottle of 16 oz covers.
"""

import re

import openpyxl
import pytest

pytestmark = pytest.mark.browser

WEDNESDAY_IN_A_WEEK = "2026-05-13"


@pytest.fixture
def tab(demo_kitchen, open_tab, sign_in):
    """A phone's browser without scripts, signed in at the demo kitchen."""
    page = open_tab(java_script_enabled=False, viewport={"width": 390, "height": 800})
    sign_in(page)
    return page


def fill(tab, **texts):
    """Fill fields by their labels; underscores stand for spaces."""
    for name, text in texts.items():
        field(tab, name.replace("_", " ")).fill(text)


def field(tab, label):
    words = re.compile(rf"^{re.escape(label)}( \(optional\))?$")
    return tab.get_by_label(words)


def press(tab, name):
    tab.get_by_role("button", name=name, exact=True).click()


def follow(tab, name):
    tab.get_by_role("main").get_by_role("link", name=name, exact=True).first.click()


def go(tab, page):
    menu = tab.get_by_role("navigation", name="Pages")
    link = menu.get_by_role("link", name=page)
    if not link.is_visible():
        menu.get_by_text("More").click()
    link.click()


def heading(tab):
    return tab.get_by_role("heading", level=1).inner_text()


def said(tab):
    """What the page says after a change."""
    return tab.get_by_role("status").inner_text()


def words(tab):
    return " ".join(tab.get_by_role("main").inner_text().split())


def test_the_menu_leads_to_every_question(tab):
    menu = tab.get_by_role("navigation", name="Pages")
    names = menu.get_by_role("link", include_hidden=True).all_text_contents()
    assert len(names) > len(menu.get_by_role("link").all())  # the others, behind More

    for name in names:
        go(tab, name)

        assert heading(tab) == name


def test_from_a_new_item_to_the_order_that_goes_out(tab, tmp_path):
    add_orange_oil(tab)
    add_a_supplier_of_it(tab)
    add_a_cake_that_takes_it(tab)
    plan_three_of_them(tab)

    assert_it_runs_short(tab)
    assert_the_order_goes_out(tab, tmp_path)


def test_the_kitchen_goes_out_as_a_workbook_and_comes_back_changed(tab, tmp_path):
    go(tab, "Kitchen")
    follow(tab, "Import or export the whole kitchen")
    book = downloaded(tab, "The whole kitchen as a workbook", tmp_path)
    sheet = book["Places"]
    sheet.append(["attic", *[None] * (sheet.max_column - 1)])
    book.save(tmp_path / "changed.xlsx")

    field(tab, "Kitchen workbook").set_input_files(tmp_path / "changed.xlsx")
    press(tab, "Look at this workbook")
    assert "It would add 1 row and change 0. Nothing is stored yet." in words(tab)
    press(tab, "Store this")

    go(tab, "Shelves")
    follow(tab, "Places")
    assert "attic" in words(tab)


def assert_it_runs_short(tab):
    go(tab, "Shortfalls")
    follow(tab, "Orange oil")
    assert "12 oz short" in words(tab)
    assert "Order from Citrus House by" in words(tab)


def assert_the_order_goes_out(tab, tmp_path):
    go(tab, "Orders")
    press(tab, "Draft these orders")
    assert "Drafted:" in said(tab)
    row = tab.get_by_role("row").filter(has_text="Citrus House")
    row.get_by_role("link").first.click()
    reference = re.search(r"Order (\S+) to Citrus House", heading(tab))[1]
    press(tab, "Approve this order")
    assert said(tab) == f"{reference} is approved and can be sent."
    follow(tab, "Send this order")
    lines = downloaded(tab, "As a spreadsheet", tmp_path)["Lines"]
    heads, line = lines.iter_rows(max_row=2, values_only=True)
    asked = dict(zip(heads, line, strict=True))
    assert (asked["Item"], asked["Pack"], asked["Qty"]) == (
        "orange oil",
        "16 oz bottle",
        1,
    )
    assert (asked["Price"], asked["Total"]) == (9.5, 9.5)
    press(tab, "It is sent")
    assert f"{reference} is sent." in said(tab)


def add_orange_oil(tab):
    go(tab, "Shelves")
    follow(tab, "Add an item")
    fill(tab, Item="orange oil")
    field(tab, "Measure").select_option("mass")
    press(tab, "Save this item")
    assert heading(tab) == "Orange oil"
    follow(tab, "Set what is on hand")
    field(tab, "Place").select_option(label="dry rack")
    fill(tab, What_is_there="12 oz")
    press(tab, "This is there")
    assert "12 oz" in words(tab)


def add_a_supplier_of_it(tab):
    go(tab, "Suppliers")
    follow(tab, "Add a supplier")
    fill(tab, Supplier="Citrus House")
    fill(tab, **{"Cut-off, days before": "1", "Cut-off time": "14:00"})
    for day in ("Tue", "Fri"):
        tab.get_by_label(day, exact=True).check()
    press(tab, "Save this supplier")
    assert heading(tab) == "Citrus House"
    follow(tab, "Add a pack")
    fill(tab, Item="orange oil", Pack="16 oz bottle", Called="bottle")
    fill(tab, Holds="16 oz", Price_of_one_pack="9.50")
    press(tab, "Save this pack")
    assert "$9.50" in words(tab)


def add_a_cake_that_takes_it(tab):
    go(tab, "Recipes")
    follow(tab, "Add a cake")
    fill(tab, Recipe="Orange torte", Base_size="8 in round x 3")
    press(tab, "Save this recipe")
    assert heading(tab) == "Orange torte"
    fill(tab, Component="orange oil", Quantity="8 oz")
    press(tab, "Add this line")
    assert "Added to Orange torte: orange oil." in said(tab)


def plan_three_of_them(tab):
    go(tab, "Bake plan")
    follow(tab, "Add a cake")
    field(tab, "Cake").select_option(label="Orange torte")
    fill(tab, Due=WEDNESDAY_IN_A_WEEK, Quantity="3", Reference="fair")
    press(tab, "Save this cake")
    assert "orange oil" in said(tab)


def downloaded(tab, name, folder):
    """Follow a link to a workbook; return the workbook."""
    with tab.expect_download() as expected:
        tab.get_by_role("link", name=name).click()
    path = folder / expected.value.suggested_filename
    expected.value.save_as(path)
    return openpyxl.load_workbook(path)
