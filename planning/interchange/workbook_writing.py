"""A whole kitchen as an XLSX file: one sheet each, real dates, no formulas.

Columns of words are formatted as text, so that `1/2 cup` or the code `0012` typed into
them later stays what it is.
"""

from collections.abc import Sequence
from datetime import date, time
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import Cell, WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from planning.interchange.taking_out import KitchenOut, SheetOut, cell_text
from stock.entry.calendar_cells import Clock, Day
from stock.entry.cells import Number, WholeNumber
from stock.entry.entries import Column
from stock.wording.safe_text import looks_like_formula, writable

TEXT_FORMAT, DATE_FORMAT, TIME_FORMAT = "@", "yyyy-mm-dd", "hh:mm"
GENERAL_FORMAT = "General"
NARROWEST, WIDEST = 10, 48  # in characters
BOLD = Font(bold=True)


def kitchen_workbook(kitchen: KitchenOut) -> bytes:
    """Return the kitchen as the bytes of an XLSX file."""
    book = Workbook(write_only=True)
    for sheet_out in kitchen.sheets:
        _write(book.create_sheet(sheet_out.name), sheet_out)
    buffer = BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def _write(sheet: Worksheet, sheet_out: SheetOut) -> None:
    columns = sheet_out.sheet.columns
    sheet.freeze_panes = "A2"
    for place, column in enumerate(columns):
        dimension = sheet.column_dimensions[get_column_letter(place + 1)]
        dimension.width = _width(column, [row[place] for row in sheet_out.rows])
        dimension.number_format = _format(column)
    sheet.append([_heading(sheet, column.name) for column in columns])
    for row in sheet_out.rows:
        sheet.append([_cell(sheet, value) for value in row])


def _heading(sheet: Worksheet, name: str) -> Cell:
    cell = _text_cell(sheet, name)
    cell.font = BOLD
    return cell


def _cell(sheet: Worksheet, value: Any) -> Cell | None:
    if value is None:
        return None
    if isinstance(value, str):
        return _text_cell(sheet, value)
    cell = WriteOnlyCell(sheet, value)
    if isinstance(value, date):
        cell.number_format = DATE_FORMAT
    elif isinstance(value, time):
        cell.number_format = TIME_FORMAT
    return cell


def _text_cell(sheet: Worksheet, text: str) -> Cell:
    """Return a cell whose text stays text, whatever it starts with or looks like."""
    cell = WriteOnlyCell(sheet)
    cell.value = writable(text)
    cell.data_type = "s"
    cell.number_format = TEXT_FORMAT
    cell.quotePrefix = looks_like_formula(text)
    return cell


def _format(column: Column) -> str:
    if isinstance(column.kind, Day):
        return DATE_FORMAT
    if isinstance(column.kind, Clock):
        return TIME_FORMAT
    if isinstance(column.kind, Number | WholeNumber):
        return GENERAL_FORMAT
    return TEXT_FORMAT


def _width(column: Column, values: Sequence[Any]) -> int:
    longest = max([len(column.name), *(len(cell_text(value)) for value in values)])
    return min(max(longest + 2, NARROWEST), WIDEST)
