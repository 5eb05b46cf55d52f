"""Workbooks and CSV files, whole and broken, as they come from other programs."""

import io
import os
import zipfile
from datetime import date, datetime, time

import openpyxl
import pytest
from openpyxl.worksheet.formula import ArrayFormula

from planning.interchange.errors import KitchenFileError
from planning.interchange.grids import grids_of_rows, kitchen_cells
from planning.interchange.reading import read_kitchen
from planning.interchange.workbook_reading import read_workbook
from stock.cells import Unreadable

SHEET_PART = "xl/worksheets/sheet1.xml"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
BOMB = (
    '<!DOCTYPE w [<!ENTITY a "aaaaaaaaaa">'
    '<!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">]>'
)


def a_workbook(**sheets):
    """Each sheet as a list of rows; the words of its name joined by _."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name.replace("_", " "))
        for row in rows:
            sheet.append(row)
    return book


def saved(book):
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def places_file():
    return saved(a_workbook(Places=[["place", "walk_order"], ["shelf", 1]]))


def with_part(content, part, replace):
    """The archive with one part's bytes put through `replace`."""
    buffer = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as before,
        zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as after,
    ):
        for name in before.namelist():
            data = before.read(name)
            after.writestr(name, replace(data) if name == part else data)
    return buffer.getvalue()


def with_extra_parts(content, parts):
    buffer = io.BytesIO(content)
    with zipfile.ZipFile(buffer, "a", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def sheet_of(rows):
    xml = f'<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>'
    return lambda _: xml.encode()


def cells(content):
    return kitchen_cells(read_workbook(io.BytesIO(content), "kitchen.xlsx"))


def entries(content, sheet):
    return cells(content).sheets[sheet].entries


def faults(kitchen):
    return [str(fault) for fault in kitchen.faults]


def refused(content):
    with pytest.raises(KitchenFileError) as error:
        read_workbook(io.BytesIO(content), "kitchen.xlsx")
    return str(error.value)


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
        'Butter prices!A1: There is no sheet "Butter prices".'
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


# What is no workbook, or one that nobody should open.


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "is no workbook"),
        (b"place,walk_order\nshelf,1\n", "is no workbook"),
        (bytes.fromhex("d0cf11e0a1b11ae1") + bytes(600), "the old Excel format"),
        (
            bytes.fromhex("d0cf11e0a1b11ae1") + "EncryptedPackage".encode("utf-16-le"),
            "protected by a password",
        ),
        (b"PK\x03\x04" + bytes(21 * 2**20), "is 21 MB large"),
    ],
    ids=["empty", "text", "old", "password", "huge"],
)
def test_a_file_that_is_no_workbook_says_what_it_is(content, sentence):
    assert sentence in refused(content)


def test_a_zip_archive_of_something_else_is_no_workbook():
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("Places.csv", "place\n")

    assert "is no workbook, though it is packed like one" in refused(buffer.getvalue())


@pytest.mark.parametrize("kept_bytes", [30, 800, -30])
def test_a_file_of_which_only_a_part_arrived_is_damaged(kept_bytes):
    assert "is damaged" in refused(places_file()[:kept_bytes])


@pytest.mark.parametrize(
    "broken",
    [b"", b"<worksheet", b"\xff\xfe<", b'<worksheet xmlns="x"><a></worksheet>'],
)
def test_a_sheet_that_is_no_xml_is_damaged(broken):
    assert "is damaged" in refused(
        with_part(places_file(), SHEET_PART, lambda _: broken)
    )


def test_a_sheet_whose_part_is_not_there_is_damaged():
    content = with_part(
        places_file(),
        "xl/_rels/workbook.xml.rels",
        lambda data: data.replace(b"sheet1.xml", b"sheet9.xml"),
    )

    assert "is damaged" in refused(content)


@pytest.mark.parametrize("part", [SHEET_PART, "xl/workbook.xml", "xl/styles.xml"])
def test_a_workbook_that_defines_entities_is_refused(part):
    def define(data):
        start = data.index(b"<", 1) if data.startswith(b"<?") else 0
        return data[:start] + BOMB.encode() + data[start:]

    assert "defines entities" in refused(with_part(places_file(), part, define))


def test_a_part_that_is_packed_a_thousand_to_one_is_a_bomb():
    content = with_extra_parts(places_file(), {"xl/more.xml": bytes(4 * 2**20)})

    assert "unpacks to far too much" in refused(content)


def test_thousands_of_parts_are_a_bomb():
    parts = {f"xl/media/{number}.png": b"" for number in range(1_001)}

    assert "unpacks to far too much" in refused(with_extra_parts(places_file(), parts))


def test_a_part_that_holds_more_than_it_says_is_damaged():
    content = places_file()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = archive.getinfo(SHEET_PART).file_size
    lying = content.replace(size.to_bytes(4, "little"), (9).to_bytes(4, "little"))

    assert lying != content
    assert "is damaged" in refused(lying)


@pytest.mark.parametrize(
    "rows",
    [
        '<row r="2000000000"><c r="A2000000000"><v>1</v></c></row>',
        '<row r="1"><c r="AAAAAA1"><v>1</v></c></row>',
        "".join(f'<row r="{n}"><c r="XFD{n}"/></row>' for n in range(1, 400)),
    ],
    ids=["far down", "far right", "wide and deep"],
)
def test_a_sheet_that_spreads_without_end_is_too_large(rows):
    content = with_part(places_file(), SHEET_PART, sheet_of(rows))

    assert "is too large" in refused(content)


def test_cells_without_references_are_counted_one_after_the_other():
    text = '<c t="inlineStr"><is><t>{}</t></is></c>'.format
    rows = f"<row>{text('place')}</row><row>{text('shelf')}</row>"

    content = with_part(places_file(), SHEET_PART, sheet_of(rows))

    assert entries(content, "Places") == [{"place": "shelf"}]


def test_a_strict_workbook_is_refused_rather_than_read_as_empty():
    strict = with_part(
        places_file(),
        SHEET_PART,
        lambda data: data.replace(
            MAIN.encode(), b"http://purl.oclc.org/ooxml/spreadsheetml/main"
        ),
    )

    assert "Strict Open XML" in refused(strict)


# A folder of CSV files.


def folder_of(tmp_path, **files):
    tmp_path.mkdir(exist_ok=True)
    for name, content in files.items():
        data = content if isinstance(content, bytes) else content.encode()
        (tmp_path / f"{name.replace('_', ' ')}.csv").write_bytes(data)
    return tmp_path


def refused_path(path):
    with pytest.raises(KitchenFileError) as error:
        read_kitchen(path)
    return str(error.value)


def test_csv_files_are_sheets_with_or_without_a_byte_order_mark(tmp_path):
    folder = folder_of(
        tmp_path,
        places="\ufeffplace,walk_order\r\ncrème shelf,1\r\n",
        Recipe_lines='recipe,component,quantity\n"cake, plain",egg,"2 each"\n\n',
    )
    (folder / "notes.txt").write_text("not a sheet")

    kitchen = read_kitchen(folder)

    assert kitchen.faults == []
    assert kitchen.sheets["Places"].entries == [
        {"place": "crème shelf", "walk_order": "1"}
    ]
    assert kitchen.sheets["Recipe lines"].entries[0]["recipe"] == "cake, plain"


def test_one_apostrophe_before_a_formula_start_is_the_mark_for_text(tmp_path):
    folder = folder_of(tmp_path, Places="place\n'=A1\n''+b\n'tis\n-c\n")

    assert [row["place"] for row in read_kitchen(folder).sheets["Places"].entries] == [
        "=A1",
        "'+b",
        "'tis",
        "-c",
    ]


def test_a_row_may_be_shorter_than_the_header_but_not_longer(tmp_path):
    folder = folder_of(tmp_path, Places="place,walk_order\nshelf\nbin,2,three\n")

    kitchen = read_kitchen(folder)

    assert kitchen.sheets["Places"].entries[0] == {"place": "shelf", "walk_order": None}
    assert faults(kitchen) == [
        "Places!C3: This column has no name. Write one into its first row."
    ]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("place\ncrème\n".encode("latin-1"), "Places.csv is not written in UTF-8"),
        ("place\n".encode("utf-16"), "Places.csv is not written in UTF-8"),
        ('place\n"shelf\n', "Places.csv is broken after row 1"),
        ("place;walk_order\nshelf;1\n", "split by semicolons"),
        ("place\twalk_order\nshelf\t1\n", "split by tabs"),
        ("place\n" + "x" * 140_000 + "\n", "Places.csv is broken after row 1"),
    ],
    ids=["latin-1", "utf-16", "quote", "semicolons", "tabs", "endless cell"],
)
def test_a_csv_file_that_cannot_be_read_says_how_to_save_it(
    tmp_path, content, sentence
):
    assert sentence in refused_path(folder_of(tmp_path, Places=content))


def test_a_csv_file_of_an_unknown_sheet_is_a_fault(tmp_path):
    folder = folder_of(tmp_path, Places="place\n", Itmes="item\n")

    assert faults(read_kitchen(folder)) == [
        'Itmes!A1: There is no sheet "Itmes". Did you mean Items?'
    ]


def test_a_path_that_holds_no_kitchen_says_so(tmp_path):
    (tmp_path / "Places.csv").write_text("place\n")
    empty = tmp_path / "empty"
    empty.mkdir()

    assert "There is no file or folder" in refused_path(tmp_path / "gone.xlsx")
    assert "There is no sheet of a kitchen in the folder" in refused_path(empty)
    assert "is one sheet alone" in refused_path(tmp_path / "Places.csv")


def test_what_is_no_file_is_named(tmp_path):
    os.mkfifo(tmp_path / "pipe.xlsx")
    pipe_among_sheets = folder_of(tmp_path / "a", Places="place\n")
    os.mkfifo(pipe_among_sheets / "Items.csv")
    folder_among_sheets = folder_of(tmp_path / "b", Places="place\n")
    (folder_among_sheets / "Items.csv").mkdir()

    assert "pipe.xlsx is no file." in refused_path(tmp_path / "pipe.xlsx")
    assert "Items.csv is no file." in refused_path(pipe_among_sheets)
    assert "Items.csv is no file." in refused_path(folder_among_sheets)


def test_a_workbook_is_read_from_its_path(tmp_path):
    path = tmp_path / "kitchen.xlsx"
    path.write_bytes(places_file())

    assert read_kitchen(path).sheets["Places"].entries == [
        {"place": "shelf", "walk_order": 1}
    ]
