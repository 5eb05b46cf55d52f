"""A supplier order as a spreadsheet: plain figures that a phone and a till can read.

Row 1 is the header and a line follows for each pack, so that a supplier's own import
finds what it looks for; what an order is about stands on a second sheet and in the
printed page's header.
"""

from io import BytesIO

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.worksheet.worksheet import Worksheet

from planning.exports.order_sheet import OrderSheet
from stock.wording.safe_text import looks_like_formula, writable

COLUMNS = (
    # heading, width in characters
    ("Supplier code", 14),
    ("Pack", 26),
    ("Qty", 8),
    ("Price", 11),
    ("Total", 12),
    ("Item", 28),
    ("Deliver on", 13),
    ("Confirmed", 14),
)
MONEY_FORMAT = "#,##0.00"
PRICE_FORMAT = "#,##0.00##"
DATE_FORMAT = "yyyy-mm-dd"


def order_workbook(order: OrderSheet) -> bytes:
    """Return the order as the bytes of an XLSX file.

    Numbers are numbers and dates are dates; there are no formulas.
    """
    book = Workbook()
    sheet = book.active
    sheet.title = "Order"
    _write_lines(sheet, order)
    _write_sums(sheet, order)
    _lay_out(sheet, order)
    _write_about(book.create_sheet("About"), order)
    buffer = BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _put(sheet: Worksheet, row: int, column: int, text: str) -> None:
    """Write text that stays text, whatever it starts with."""
    cell = sheet.cell(row, column, writable(text))
    if looks_like_formula(text):
        cell.data_type = "s"
        cell.quotePrefix = True


def _write_lines(sheet: Worksheet, order: OrderSheet) -> None:
    for column, (heading, _) in enumerate(COLUMNS, start=1):
        cell = sheet.cell(1, column, heading)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(horizontal="right" if column in {3, 4, 5} else None)
    for row, line in enumerate(order.lines, start=2):
        _put(sheet, row, 1, line.code)
        _put(sheet, row, 2, line.pack)
        sheet.cell(row, 3, line.packs)
        sheet.cell(row, 4, line.price).number_format = PRICE_FORMAT
        sheet.cell(row, 5, line.line_cost).number_format = MONEY_FORMAT
        _put(sheet, row, 6, line.item)
        sheet.cell(row, 7, order.deliver_on).number_format = DATE_FORMAT


def _write_sums(sheet: Worksheet, order: OrderSheet) -> None:
    sums = (
        ("Goods", order.goods_cost),
        ("Delivery", order.fee),
        (f"Total {order.currency}", order.total_cost),
    )
    for row, (label, money) in enumerate(sums, start=len(order.lines) + 3):
        sheet.cell(row, 2, label).font = Font(bold=True)
        cell = sheet.cell(row, 5, money)
        cell.number_format, cell.font = MONEY_FORMAT, Font(bold=True)


def _lay_out(sheet: Worksheet, order: OrderSheet) -> None:
    for column, (_, width) in enumerate(COLUMNS, start=1):
        letter = sheet.cell(1, column).column_letter
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    header = sheet.oddHeader
    header.left.text = _header_text(f"Order to {order.supplier}")
    header.right.text = _header_text(f"from {order.bakery} {order.reference}".strip())
    sheet.oddFooter.center.text = "Page &P of &N"


def _header_text(text: str) -> str:
    """Return text for a printed header, where & begins a code."""
    return writable(text).replace("&", "&&")


def _write_about(sheet: Worksheet, order: OrderSheet) -> None:
    facts = [
        ("Order", order.reference or "not numbered yet"),
        ("From", order.bakery),
        ("To", order.supplier),
        ("Deliver on", order.deliver_on),
        # A workbook has no time zones: the bakery's own clock is meant.
        ("Order by", order.order_by and order.order_by.replace(tzinfo=None)),
        ("Currency", order.currency),
        ("Goods", order.goods_cost),
        ("Delivery", order.fee),
        ("Total", order.total_cost),
        *order.facts,
    ]
    for row, (label, value) in enumerate(facts, start=1):
        sheet.cell(row, 1, label).font = Font(bold=True)
        if isinstance(value, str):
            _put(sheet, row, 2, value)
            continue
        sheet.cell(row, 2, value)
    sheet["B4"].number_format = DATE_FORMAT
    sheet["B5"].number_format = f"{DATE_FORMAT} hh:mm"
    for row in (7, 8, 9):
        sheet.cell(row, 2).number_format = MONEY_FORMAT
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 14, 32
