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


def headed(sheet) -> dict[str, object]:
    """Return the first row below a sheet's headings, by heading."""
    [headings, values] = sheet.iter_rows(min_row=1, max_row=2, values_only=True)
    return dict(zip(headings, values, strict=True))


def document_text(order: OrderSheet) -> str:
    sheet = opened(order)["Order"]
    rows = (" | ".join(str(it) for it in row if it is not None) for row in sheet.values)
    return "\n".join(rows)


def test_the_sheet_of_lines_starts_at_its_first_cell_with_fixed_headings():
    sheet = opened(an_order(BUTTER, CHEESE, account="K-42"))["Lines"]

    assert [cell.value for cell in sheet[1]] == [
        *("Supplier code", "Pack", "Qty", "Price", "Total", "Item", "Deliver on"),
        *("Confirmed", "Line", "Order", "Revision", "Account", "Currency", "Change"),
    ]
    assert headed(sheet) == {
        "Supplier code": "00123",
        "Pack": "case 36 x 1 lb",
        "Qty": 3,
        "Price": 118.8,
        "Total": 356.4,
        "Item": "butter",
        "Deliver on": datetime(2026, 5, 5),  # noqa: DTZ001 (a sheet has no zones)
        "Confirmed": None,
        "Line": 1,
        "Order": "PO-7",
        "Revision": 0,
        "Account": "K-42",
        "Currency": "USD",
        "Change": None,
    }
    assert [cell.value for cell in sheet["I"]] == ["Line", 1, 2]


def test_the_csv_file_has_the_rows_of_that_sheet():
    order = an_order(BUTTER, CHEESE, account="K-42")
    sheet = opened(order)["Lines"]

    rows = list(csv.reader(io.StringIO(order_csv(order), newline="")))

    assert rows[0] == [cell.value for cell in sheet[1]]
    assert rows[1] == [
        *("00123", "case 36 x 1 lb", "3", "118.8000", "356.40", "butter"),
        *("2026-05-05", "", "1", "PO-7", "0", "K-42", "USD", ""),
    ]
    assert len(rows) == sheet.max_row == 3


def test_the_document_has_its_lines_numbered_and_in_the_suppliers_words():
    shown = document_text(an_order(BUTTER, CHEESE))

    assert (
        "# | Supplier code | Description | Pack | Qty | Price | Total | Confirm\n"
        "1 | 00123 | Butter | case 36 x 1 lb | 3 | 118.8 | 356.4\n"
        "2 | CH-9 | Cheese | lb, by weight | 97 | 4.1439 | 401.96\n"
    ) in shown


def test_its_sums_are_the_orders_own():
    shown = document_text(an_order(BUTTER, CHEESE))

    # 356.40 + 401.96 = 758.36, and 12.50 for the truck
    assert "Goods | 758.36\nDelivery | 12.5\nTotal, USD | 770.86\n" in shown


def test_the_document_says_who_orders_from_whom_and_where_it_goes():
    shown = document_text(
        an_order(
            BUTTER,
            contact="Orla, mornings",
            supplier_phone="555 0142",
            supplier_email="orders@dairy.example",
            account="K-42",
            deliver_to="12 Mill Lane\n\n Quillmere ",
            phone="555 0100",
            delivery_note="Ring twice",
            ordered_on=date(2026, 5, 2),
        )
    )

    assert shown.startswith(
        "Purchase order | Quince & Rye\n"
        "PO-7 | Ordered Sat May 2, 2026\n"
        "\n"
        "To | Deliver on\n"
        "Prairie Dairy | Tuesday, May 5, 2026\n"
        "Contact: Orla, mornings | Order by Mon May 4, 2:00 pm\n"
        "555 0142 | Deliver to 12 Mill Lane\n"
        "orders@dairy.example | Quillmere\n"
        "Our account: K-42 | Phone 555 0100\n"
        "Ring twice\n"
        "\n"
        "1 line, prices in USD\n"
    )


def test_what_nobody_has_entered_leaves_no_empty_label():
    shown = document_text(an_order(BUTTER, order_by=None))

    assert "Prairie Dairy | Tuesday, May 5, 2026\n\n1 line" in shown


def test_a_suggestion_is_called_a_draft_and_has_no_number():
    shown = document_text(an_order(BUTTER, reference="", is_draft=True))

    assert "Draft | Not approved yet\n" in shown
    title = opened(an_order(BUTTER, reference="")).properties.title
    assert title == "Draft order to Prairie Dairy"
    assert "number" not in shown


def test_a_draft_with_a_number_says_that_nobody_has_approved_it():
    shown = document_text(an_order(BUTTER, is_draft=True))

    assert "PO-7 | Draft, not approved yet\n" in shown


def test_a_revision_stands_with_the_number_everywhere():
    order = an_order(BUTTER, revision=2)

    assert "PO-7, revision 2" in document_text(order)
    assert order_message(order).startswith("Quince & Rye: order PO-7, revision 2 to")
    assert headed(opened(order)["Lines"])["Revision"] == 2


def test_no_cell_is_a_formula():
    book = opened(an_order(BUTTER, CHEESE))

    kinds = {cell.data_type for sheet in book for row in sheet for cell in row}

    assert "f" not in kinds


@pytest.mark.parametrize("text", [*TRAPS, "#N/A", "#REF!"])
def test_text_that_looks_like_a_formula_or_a_fault_is_stored_as_text(text):
    line = OrderSheetLine(text, text, text, 1, Decimal(1), Decimal(1))
    names = ("supplier", "bakery", "reference", "account", "contact", "phone")
    names += ("supplier_email", "supplier_phone", "deliver_to", "delivery_note")

    book = opened(an_order(line, **dict.fromkeys(names, text)))

    found = [
        cell
        for sheet in book
        for row in sheet
        for cell in row
        if text.strip().casefold() in str(cell.value).casefold()
    ]
    assert len(found) == 10 + 3 + 3 + 2  # facts, a line each, its order and account
    assert {cell.data_type for cell in found} == {"s"}


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tcmd", "\rcmd"])
def test_in_csv_it_carries_the_mark_of_text(text):
    line = OrderSheetLine(text, "case", "butter", 1, Decimal(1), Decimal(1))

    rows = list(csv.reader(io.StringIO(order_csv(an_order(line)), newline="")))

    assert rows[1][0] == f"'{text}"


def test_in_csv_every_text_of_a_line_carries_it():
    line = replace(BUTTER, code="=1", pack="+2", item="@3")

    [_, row] = csv.reader(io.StringIO(order_csv(an_order(line)), newline=""))

    assert (row[0], row[1], row[5]) == ("'=1", "'+2", "'@3")


@pytest.mark.parametrize(
    ("lines", "shown_as"),
    [((BUTTER,), "#,##0.00"), ((BUTTER, CHEESE), "#,##0.00??")],
    ids=["whole cents", "parts of a cent"],  # 4.1439 a pound is not 4.14
)
def test_a_price_is_shown_in_full(lines, shown_as):
    sheet = opened(an_order(*lines))["Order"]

    formats = {row[5].number_format for row in sheet if row[1].value == BUTTER.code}

    assert formats == {shown_as}


def test_an_ampersand_of_a_name_is_printed_and_begins_no_code():
    # In a printed footer && is the character and & begins a code.
    content = order_workbook(an_order(BUTTER, supplier="Salt & Pine"))

    with zipfile.ZipFile(io.BytesIO(content)) as book:
        markup = book.read("xl/worksheets/sheet1.xml").decode()

    assert "Order PO-7, Salt &amp;&amp; Pine" in markup


def test_a_footer_never_grows_longer_than_a_workbook_can_hold():
    # At most 255 letters: ECMA-376 part 1, 18.3.1.46 and the programs that read it.
    sheet = opened(an_order(BUTTER, supplier="&" * 120, reference="&" * 60))["Order"]

    assert len(str(sheet.oddFooter.left)) + len(str(sheet.oddFooter.right)) < 240


def test_the_files_can_be_read_by_others_than_who_wrote_them(tmp_path):
    [path] = write_order_files([an_order(BUTTER)], tmp_path)

    assert path.stat().st_mode & 0o777 == 0o644


def test_plain_text_in_csv_is_left_alone():
    assert csv_text("1 - 2 = 3") == "1 - 2 = 3"


def test_a_line_of_the_message_stays_one_line():
    # A supplier's code may come from a file with a line break in it.
    forged = replace(BUTTER, code="1\n99 x case, gold")

    lines = order_message(an_order(forged)).splitlines()

    assert lines[3] == "3 x case 36 x 1 lb, butter, code 1 99 x case, gold"


def test_the_message_can_be_read_out():
    assert order_message(an_order(BUTTER)) == (
        "Quince & Rye: order PO-7 to Prairie Dairy\n"
        "For delivery on Tuesday, May 5, 2026\n"
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


def test_a_supplier_is_told_where_to_deliver_and_whose_account_it_is():
    order = an_order(
        BUTTER,
        account="K-0042",
        deliver_to="12 Mill Lane\nRear entrance",
        phone="555 0100",
        delivery_note="Ring twice",
    )

    message = order_message(order).splitlines()

    facts = [
        ("Our account", "K-0042"),
        ("Deliver to", "12 Mill Lane, Rear entrance"),
        ("Phone", "555 0100"),
        ("Delivery note", "Ring twice"),
    ]
    assert message[2:6] == [f"{label}: {words}" for label, words in facts]
