"""A supplier order says the same in every form, and text stays text."""

import csv
import io
import os
import time
import zipfile
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import openpyxl
import pytest

from planning.exports.order_csv import order_csv
from planning.exports.order_files import (
    OrderFolderError,
    file_stems,
    write_order_files,
)
from planning.exports.order_message import order_message
from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from planning.exports.order_workbook import order_workbook
from stock.wording.safe_text import csv_text, file_stem
from tests import libreoffice

CHICAGO = ZoneInfo("America/Chicago")
TRAPS = [
    "=1+1",
    "+1",
    "-1",
    "@SUM(A1)",
    "\tcmd",
    "\rcmd",
    'quote "inch"',
    "crème, 40 %",
]


def an_order(*lines: OrderSheetLine, **changes: object) -> OrderSheet:
    goods_cost = sum((line.line_cost for line in lines), Decimal("0.00"))
    facts = {
        "bakery": "Quince & Rye",
        "currency": "USD",
        "reference": "PO-7",
        "supplier": "Prairie Dairy",
        "deliver_on": date(2026, 5, 5),
        "order_by": datetime(2026, 5, 4, 14, tzinfo=CHICAGO),
        "lines": lines,
        "goods_cost": goods_cost,
        "fee": Decimal("12.50"),
    }
    return OrderSheet(**{**facts, **changes})


# 3 cases at 118.80 are 356.40; 97.35 lb at 4.129 are 401.95815, so 401.96.
BUTTER = OrderSheetLine(
    "00123", "case 36 x 1 lb", "butter", 3, Decimal("118.8000"), Decimal("356.40")
)
CHEESE = OrderSheetLine(
    "CH-9", "lb, by weight", "cheese", 97, Decimal("4.1439"), Decimal("401.96")
)


def opened(order: OrderSheet) -> openpyxl.Workbook:
    return openpyxl.load_workbook(io.BytesIO(order_workbook(order)))


def test_the_spreadsheet_starts_with_the_suppliers_own_words():
    sheet = opened(an_order(BUTTER, CHEESE))["Order"]

    rows = list(sheet.iter_rows(min_row=1, max_row=3, values_only=True))

    assert rows[0][:5] == ("Supplier code", "Pack", "Qty", "Price", "Total")
    assert rows[1][:5] == ("00123", "case 36 x 1 lb", 3, 118.8, 356.4)
    assert rows[1][6] == datetime(2026, 5, 5)  # noqa: DTZ001 (a sheet has no zones)
    assert rows[2][4] == 401.96


def test_its_sums_are_the_orders_own():
    sheet = opened(an_order(BUTTER, CHEESE))["Order"]

    sums = {sheet.cell(row, 2).value: sheet.cell(row, 5).value for row in (5, 6, 7)}

    # 356.40 + 401.96 = 758.36, and 12.50 for the truck
    assert sums == {"Goods": 758.36, "Delivery": 12.5, "Total USD": 770.86}


def test_no_cell_is_a_formula():
    book = opened(an_order(BUTTER, CHEESE))

    kinds = {cell.data_type for sheet in book for row in sheet for cell in row}

    assert "f" not in kinds


@pytest.mark.parametrize("text", TRAPS)
def test_text_that_looks_like_a_formula_is_stored_as_text(text):
    line = OrderSheetLine(text, text, text, 1, Decimal(1), Decimal(1))

    sheet = opened(an_order(line, supplier=text, bakery=text))["Order"]

    for column in (1, 2, 6):
        cell = sheet.cell(2, column)
        assert cell.data_type == "s"
        assert cell.value.strip() == text.strip()


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tcmd", "\rcmd"])
def test_in_csv_it_carries_the_mark_of_text(text):
    line = OrderSheetLine(text, "case", "butter", 1, Decimal(1), Decimal(1))

    rows = list(csv.reader(io.StringIO(order_csv(an_order(line)), newline="")))

    assert rows[1][0] == f"'{text}"


def test_in_csv_every_text_of_a_line_carries_it():
    line = replace(BUTTER, code="=1", pack="+2", item="@3")

    [_, row] = csv.reader(io.StringIO(order_csv(an_order(line)), newline=""))

    assert (row[0], row[1], row[5]) == ("'=1", "'+2", "'@3")


def test_sums_stand_below_the_lines_with_a_free_row_between():
    sheet = opened(an_order(BUTTER, CHEESE))["Order"]

    column = [cell.value for cell in sheet["B"]]

    assert column[3:] == [None, "Goods", "Delivery", "Total USD"]


def test_about_says_the_same_sums():
    about = opened(an_order(BUTTER, CHEESE))["About"]

    facts = {row[0]: row[1] for row in about.iter_rows(values_only=True)}

    assert (facts["Goods"], facts["Delivery"]) == (758.36, 12.5)
    assert facts["Total"] == 770.86


def test_a_price_of_part_of_a_cent_is_shown_in_full():
    # 4.1439 a pound is not 4.14.
    sheet = opened(an_order(CHEESE))["Order"]

    assert sheet["D2"].number_format == "#,##0.00##"


def test_an_ampersand_of_a_name_is_printed_and_begins_no_code():
    # In a printed header && is the character and & begins a code.
    content = order_workbook(an_order(BUTTER, supplier="Salt & Pine"))

    with zipfile.ZipFile(io.BytesIO(content)) as book:
        markup = book.read("xl/worksheets/sheet1.xml").decode()

    assert "Order to Salt &amp;&amp; Pine" in markup


def test_the_files_can_be_read_by_others_than_who_wrote_them(tmp_path):
    [path] = write_order_files([an_order(BUTTER)], tmp_path)

    assert path.stat().st_mode & 0o777 == 0o644


def test_plain_text_in_csv_is_left_alone():
    assert csv_text("1 - 2 = 3") == "1 - 2 = 3"


def test_a_page_prints_with_its_header_on_every_sheet_and_one_page_wide():
    sheet = opened(an_order(BUTTER))["Order"]

    assert sheet.freeze_panes == "A2"
    assert sheet.print_title_rows == "$1:$1"
    assert sheet.page_setup.fitToWidth == 1
    assert sheet.page_setup.fitToHeight == 0
    assert sheet.sheet_properties.pageSetUpPr.fitToPage


def test_the_message_can_be_read_out():
    assert order_message(an_order(BUTTER)) == (
        "Quince & Rye: order PO-7 to Prairie Dairy\n"
        "For delivery on Tuesday 2026-05-05\n"
        "\n"
        "3 x case 36 x 1 lb, butter, code 00123\n"
        "\n"
        "Goods 356.40 + delivery 12.50 = 368.90 USD\n"
        "Please confirm, and say what you cannot bring.\n"
    )


def test_files_get_names_that_every_system_takes():
    assert file_stem("2026-05-05", "CON") == "2026-05-05_con"
    assert file_stem("2026-05-05", "Œufs/..\\: *?") == "2026-05-05_ufs"
    assert file_stem("日本") == "order"
    assert len(file_stem("2026-05-05", "x" * 300)) == 60


def test_two_orders_never_share_a_file():
    first = an_order(BUTTER, supplier="A/B", reference="")
    second = an_order(BUTTER, supplier="A B", reference="")

    assert file_stems([first, second]) == ["2026-05-05_a-b", "2026-05-05_a-b-2"]


def test_each_order_is_written_three_ways(tmp_path):
    paths = write_order_files([an_order(BUTTER)], tmp_path / "orders")

    assert [path.name for path in paths] == ["2026-05-05_prairie-dairy_po-7.xlsx"]
    names = {path.name for path in paths[0].parent.iterdir()}
    assert names == {
        f"2026-05-05_prairie-dairy_po-7.{ending}" for ending in ("xlsx", "csv", "txt")
    }


def test_what_a_writer_was_cut_off_at_goes_after_an_hour_and_not_before(tmp_path):
    now = time.time()
    for name, minutes_ago in ((".writing-old", 61), (".writing-young", 59)):
        (tmp_path / name).write_text("half an order")
        os.utime(tmp_path / name, (now, now - 60 * minutes_ago))

    write_order_files([an_order(BUTTER)], tmp_path)

    left = {path.name for path in tmp_path.glob(".*")}
    assert left == {".writing-young"}


def test_a_folder_that_cannot_be_made_is_named(tmp_path):
    (tmp_path / "taken").write_text("a file, not a folder")

    with pytest.raises(OrderFolderError, match=r"taken.*--out"):
        write_order_files([an_order(BUTTER)], tmp_path / "taken")


def test_another_spreadsheet_program_reads_the_same_figures(tmp_path):
    (path,) = write_order_files([an_order(BUTTER, CHEESE)], tmp_path)

    libreoffice.convert(
        path,
        "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false",
        tmp_path / "read",
    )

    with (tmp_path / "read" / f"{path.stem}.csv").open(newline="") as file:
        rows = list(csv.reader(file))
    assert rows[1][:6] == [
        "00123",
        "case 36 x 1 lb",
        "3",
        "118.8",
        "356.4",
        "butter",
    ]
    assert [row[4] for row in rows[4:7]] == ["758.36", "12.5", "770.86"]


def test_a_supplier_is_told_where_to_deliver_and_whose_account_it_is():
    order = an_order(
        BUTTER,
        account="K-0042",
        deliver_to="12 Mill Lane\nRear entrance",
        phone="555 0100",
        delivery_note="Ring twice",
    )

    message = order_message(order).splitlines()
    about = openpyxl.load_workbook(io.BytesIO(order_workbook(order)))["About"]

    facts = [
        ("Our account", "K-0042"),
        ("Deliver to", "12 Mill Lane, Rear entrance"),
        ("Phone", "555 0100"),
        ("Delivery note", "Ring twice"),
    ]
    assert message[2:6] == [f"{label}: {words}" for label, words in facts]
    assert list(about.iter_rows(min_row=10, values_only=True)) == facts
