"""A sheet of a workbook as a page to print: looks, text that stays text, row heights.

Both fonts have twins of the same widths in every office program (Liberation Sans and
Serif), so that a page breaks where it was meant to, whoever opens it. Rows are as high
as their words need, because no program makes room in cells that are merged.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from math import ceil

from openpyxl.cell import Cell
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from planning.exports.paper import lines_needed
from stock.wording.safe_text import looks_like_formula, writable

Value = str | int | Decimal | date

PLAIN_FONT, SERIF_FONT = "Arial", "Times New Roman"
MONEY_FORMAT, PRICE_FORMAT, DATE_FORMAT = "#,##0.00", "#,##0.00##", "yyyy-mm-dd"

THIN, HAIR = Side(style="thin", color="000000"), Side(style="thin", color="999999")
UNDER_LINE, UNDER_HEADINGS = Border(bottom=HAIR), Border(bottom=THIN)
UNDER_TITLE = Border(bottom=Side(style="medium", color="000000"))
BOX = Border(left=THIN, right=THIN, top=THIN, bottom=THIN)

POINTS_PER_DIGIT = 5.25  # of a column's width; 7 pixels of 1/96 inch
CELL_PADDING = 5.0  # left and right together
PIXEL = 0.75  # points
LINE_PER_SIZE = 1.275  # how high a line of words stands, in sizes of its font


@dataclass(frozen=True, slots=True)
class CellStyle:
    """How a cell's words stand."""

    size: int = 10
    bold: bool = False
    serif: bool = False
    right: bool = False
    top: bool = False
    indent: int = 0  # steps of about three spaces

    # Made once a look: an order's cells have a dozen of them.
    @cache  # noqa: B019 (looks are few, and kept as constants)
    def font(self) -> Font:
        """Return its font."""
        name = SERIF_FONT if self.serif else PLAIN_FONT
        return Font(name=name, size=self.size, bold=self.bold)

    @cache  # noqa: B019
    def alignment(self) -> Alignment:
        """Return where in the cell its words stand; they wrap."""
        return Alignment(
            horizontal="right" if self.right else "left",
            vertical="top" if self.top else "center",
            wrap_text=True,
            indent=self.indent,
        )


def put_text(cell: Cell, text: str) -> None:
    """Write text that stays text, whatever it starts with or looks like.

    Characters that no workbook can hold are left out.
    """
    if words := writable(text):
        cell.value = words
        cell.data_type = "s"
        cell.quotePrefix = looks_like_formula(words)


class Page:
    """A sheet that is written from the top, with columns of set widths."""

    def __init__(self, sheet: Worksheet, widths: Sequence[float]) -> None:
        self.sheet = sheet
        self.widths = widths  # in digits
        for column, width in enumerate(widths, start=1):
            sheet.column_dimensions[get_column_letter(column)].width = width

    def put(
        self,
        row: int,
        columns: tuple[int, int],
        value: Value,
        look: CellStyle,
        *,
        last_row: int = 0,
    ) -> Cell:
        """Write a value over the columns from first to last; make its row high enough.

        Over the rows to the last one too, where that is said. Only words wrap; figures
        have to fit.
        """
        first, last = columns
        cell = self.sheet.cell(row, first)
        lines = 1
        if isinstance(value, str):
            put_text(cell, value)
            width = sum(self.widths[first - 1 : last]) * POINTS_PER_DIGIT
            lines = lines_needed(value, width=width - CELL_PADDING, size=look.size)
        else:
            cell.value = value
        cell.font, cell.alignment = look.font(), look.alignment()
        if last > first:
            end_row = max(row, last_row)
            self.sheet.merge_cells(
                start_row=row, end_row=end_row, start_column=first, end_column=last
            )
        self.reach(row, lines * look.size * LINE_PER_SIZE)
        return cell

    def draw(self, row: int, columns: tuple[int, int], border: Border) -> None:
        """Draw a border on every cell of a row from the first column to the last."""
        for column in range(columns[0], columns[1] + 1):
            self.sheet.cell(row, column).border = border

    def height(self, first: int, last: int) -> float:
        """Return how high the rows from first to last are, in points."""
        rows = self.sheet.row_dimensions
        return sum(rows[row].height or 0.0 for row in range(first, last + 1))

    def reach(self, row: int, points: float) -> None:
        """Make a row at least so high."""
        dimension = self.sheet.row_dimensions[row]
        dimension.height = max(dimension.height or 0.0, _whole_pixels(points))


def _whole_pixels(points: float) -> float:
    """Return a height as programs show it: in whole pixels, rounded up."""
    return ceil(round(points / PIXEL, 6)) * PIXEL
