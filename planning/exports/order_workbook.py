"""A supplier order as a spreadsheet: a page for people, and its lines for programs.

The first sheet is the order as a document. `Lines` holds its lines flat from the first
cell on, so that a supplier's own import finds what it looks for.
"""

from io import BytesIO

from django.utils.translation import gettext as _
from openpyxl import Workbook
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from planning.exports.order_csv import HEADINGS, flat_rows
from planning.exports.order_document import write_order_document
from planning.exports.order_page import (
    DATE_FORMAT,
    MONEY_FORMAT,
    PLAIN_FONT,
    PRICE_FORMAT,
    put_text,
)
from planning.exports.order_sheet import OrderSheet
from stock.wording.safe_text import writable

FORMATS = {"Price": PRICE_FORMAT, "Total": MONEY_FORMAT, "Deliver on": DATE_FORMAT}
WIDTHS = {"Pack": 26, "Item": 28}
USUAL_WIDTH = 14


def order_workbook(order: OrderSheet) -> bytes:
    """Return the order as the bytes of an XLSX file.

    Numbers are numbers and dates are dates; there are no formulas.
    """
    book = _empty_workbook()
    sheet = book.active
    sheet.title = _("Order")
    write_order_document(sheet, order)
    _write_lines(book.create_sheet("Lines"), order)
    book.properties.creator = writable(order.bakery)
    words = (
        _("Order {number}").format(number=order.number)
        if order.number
        else _("Draft order")
    )
    book.properties.title = writable(
        _("{words} to {supplier}").format(words=words, supplier=order.supplier)
    )
    buffer = BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _empty_workbook() -> Workbook:
    """Return a workbook whose usual font is ours.

    Columns are as wide as so many digits of it; with a font that a machine does not
    have, they would be wider there, and pages shrunk to fit.
    """
    book = Workbook()
    usual = Font(name=PLAIN_FONT, size=10)
    book._fonts[:] = [usual]  # noqa: SLF001 (it has no public way)
    book._named_styles["Normal"].font = usual  # noqa: SLF001
    return book


def _write_lines(sheet: Worksheet, order: OrderSheet) -> None:
    for column, heading in enumerate(HEADINGS, start=1):
        sheet.cell(1, column, heading).font = Font(name=PLAIN_FONT, size=10, bold=True)
        width = WIDTHS.get(heading, USUAL_WIDTH)
        sheet.column_dimensions[get_column_letter(column)].width = width
    for row, values in enumerate(flat_rows(order), start=2):
        for column, value in enumerate(values, start=1):
            cell = sheet.cell(row, column)
            if isinstance(value, str):
                put_text(cell, value)
                continue
            cell.value = value
            cell.number_format = FORMATS.get(HEADINGS[column - 1], "General")
    sheet.freeze_panes = "A2"
    # Nothing of it is printed, so that "Page 1 of 1" counts the order's pages alone.
    beside = get_column_letter(len(HEADINGS) + 1)
    sheet.print_area = f"{beside}1"
