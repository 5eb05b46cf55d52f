"""Whole workbooks as other programs write them, and what their cells mean."""

from datetime import date, datetime, time

import openpyxl
from openpyxl.worksheet.formula import ArrayFormula

from planning.interchange.grids import grids_of_rows, kitchen_cells
from planning.interchange.reading import read_kitchen
from stock.entry.cells import Unreadable
from tests.planning.workbooks import (
    a_workbook,
    cells,
    entries,
    faults,
    places_file,
    saved,
)


def test_names_of_sheets_and_columns_match_without_case_and_outer_spaces():
    book = a_workbook(**{" recipe lines ": [[" Component", "RECIPE"], ["egg", "cake"]]})

    kitchen = cells(saved(book))

    assert kitchen.faults == []
    assert kitchen.sheets["Recipe lines"].entries == [
        {"component": "egg", "recipe": "cake"}
    ]
    assert kitchen.address("Recipe lines", "component", 2) == "Recipe lines!A2"


def test_blank_rows_and_columns_are_passed_over_and_numbers_stay_those_of_the_file():
    rows = [["place", None, "walk_order"], [None, None, None], ["shelf", "  ", 1]]

    kitchen = cells(saved(a_workbook(Places=[*rows, [" ", None, None]])))

    assert kitchen.sheets["Places"].entries == [{"place": "shelf", "walk_order": 1}]
    assert kitchen.sheets["Places"].rows == [3]
    assert kitchen.address("Places", "walk_order", 3) == "Places!C3"


def test_formatted_cells_below_and_beside_the_figures_hold_nothing():
    book = a_workbook(Places=[["place"], ["shelf"]])
    book["Places"]["Z900"].font = openpyxl.styles.Font(bold=True)

    assert entries(saved(book), "Places") == [{"place": "shelf"}]


def test_a_hidden_sheet_is_read():
    book = a_workbook(Settings=[["setting"]], Places=[["place"], ["shelf"]])
    book["Places"].sheet_state = "hidden"

    assert entries(saved(book), "Places") == [{"place": "shelf"}]


def test_an_empty_sheet_and_a_header_alone_hold_no_rows():
    kitchen = cells(saved(a_workbook(Places=[], Items=[["item", "measure"]])))

    assert kitchen.faults == []
    assert [rows.entries for rows in kitchen.sheets.values()] == [[], []]


def test_dates_times_numbers_and_truths_arrive_as_what_they_are():
    book = a_workbook(
        Bake_plan=[
            ["reference", "due", "due_time", "quantity", "note"],
            ["A", date(2026, 5, 9), time(14, 30), 2.0, True],
            [1.5, "2026-05-09", "14:30", "2", "#N/A is no error as text"],
        ]
    )
    book["Bake plan"]["E3"].data_type = "s"

    first, second = entries(saved(book), "Bake plan")

    assert first == {
        "reference": "A",
        "due": datetime.combine(date(2026, 5, 9), time(0)),
        "due_time": time(14, 30),
        "quantity": 2,
        "note": True,
    }
    assert second["reference"] == 1.5
    assert second["due"] == "2026-05-09"
    assert second["note"] == "#N/A is no error as text"


def test_a_formula_is_a_fault_of_its_cell_alone():
    book = a_workbook(Places=[["place", "walk_order"], ["shelf", "=1+1"], ["bin", 2]])
    book["Places"]["B4"] = ArrayFormula("B4:B4", "=B2*2")
    book["Places"]["A4"] = "rack"

    shelf, bin_, rack = entries(saved(book), "Places")

    assert isinstance(shelf["walk_order"], Unreadable)
    assert "holds a formula" in shelf["walk_order"].message
    assert bin_ == {"place": "bin", "walk_order": 2}
    assert isinstance(rack["walk_order"], Unreadable)


def test_text_that_looks_like_a_formula_is_text():
    book = a_workbook(Places=[["place"], ["=A1"]])
    book["Places"]["A2"].data_type = "s"

    assert entries(saved(book), "Places") == [{"place": "=A1"}]


def test_an_error_value_says_what_it_shows():
    (entry,) = entries(saved(a_workbook(Places=[["place"], ["#REF!"]])), "Places")

    assert entry["place"].message.startswith("It shows #REF!")


def test_merged_cells_are_a_fault_where_they_begin():
    book = a_workbook(Places=[["place"], ["shelf"], ["bin"]])
    book["Places"].merge_cells("A2:A3")

    assert faults(cells(saved(book))) == [
        "Places!A2: A2:A3 are merged into one. Unmerge them, and fill in every cell."
    ]


def test_an_unknown_sheet_names_the_nearest_known():
    assert faults(cells(saved(a_workbook(Recipies=[["recipe"]])))) == [
        'Recipies!A1: There is no sheet "Recipies". Did you mean Recipes?'
    ]


def test_a_sheet_that_is_one_chart_is_an_unknown_sheet():
    book = a_workbook(Places=[["place"], ["shelf"]])
    book.create_chartsheet("Butter prices")

    assert faults(cells(saved(book))) == [
        'Butter prices!A1: There is no sheet "Butter prices". The nearest are '
        "Places, Items and Recipes."
    ]


def test_an_unknown_column_names_the_nearest_known():
    book = a_workbook(Places=[["place", "walk order"], ["shelf", 1]])

    assert faults(cells(saved(book))) == [
        'Places!B1: There is no column "walk order". Did you mean walk_order?'
    ]


def test_a_column_or_a_sheet_that_comes_twice_is_a_fault():
    book = a_workbook(Places=[["place", "Place"]], places_=[["place"]])

    assert faults(cells(saved(book))) == [
        "Places!B1: There is a second column place.",
        "places!A1: There is a second sheet Places.",
    ]


def test_every_key_column_must_be_there_but_those_that_may_be_blank():
    book = a_workbook(Recipe_lines=[["recipe"]], Stock=[["item", "quantity"]])

    assert faults(cells(saved(book))) == [
        'Recipe lines!A1: There is no column "component", and every row needs it.'
    ]


def test_a_first_row_that_is_blank_and_a_column_without_a_name_are_faults():
    book = a_workbook(
        Places=[[None], ["place"]],
        Settings=[["setting", None, "value"], ["bakery", None, "A"], ["b", "C", "d"]],
    )

    assert faults(cells(saved(book))) == [
        "Places!A1: The first row is blank. Write the names of the columns there.",
        "Settings!B3: This column has no name. Write one into its first row.",
    ]


def test_rows_in_memory_count_from_row_2_and_may_name_different_columns():
    raw = {"Places": [{"place": "shelf"}, {"walk_order": 2, "place": "bin"}]}

    kitchen = kitchen_cells(grids_of_rows(raw))

    assert kitchen.sheets["Places"].rows == [2, 3]
    assert kitchen.sheets["Places"].entries[0] == {"place": "shelf", "walk_order": None}
    assert kitchen.address("Places", "walk_order", 3) == "Places!B3"


def test_a_workbook_is_read_from_its_path(tmp_path):
    path = tmp_path / "kitchen.xlsx"
    path.write_bytes(places_file())

    assert read_kitchen(path).sheets["Places"].entries == [
        {"place": "shelf", "walk_order": 1}
    ]
