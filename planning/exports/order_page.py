"""A sheet of a workbook as a page to print: looks, text that stays text, row heights.

Both fonts have twins of the same widths in every office program (Liberation Sans and
Serif), so that a page breaks where it was meant to, whoever opens it. Rows are as high
as their words need, because no program makes room in cells that are merged.

Which paper an order is printed on, and how much room words take on it.

Lengths are points, 1/72 inch. Widths of letters are those of Arial, to the nearest
group of letters and rather too wide than too narrow: a row that is a little too high
is no harm, words that are cut off are.
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

from stock.wording.safe_text import looks_like_formula, writable

POINTS_PER_INCH = 72
# Currencies of the territories that print on US Letter. Source: Unicode CLDR,
# supplemental measurementData, paperSize US-Letter (BZ CA CL CO CR GT MX NI PA PH PR
# SV US VE).
LETTER_CURRENCIES = frozenset(
    (
        *("BZD", "CAD", "CLP", "COP", "CRC", "GTQ", "MXN", "NIO", "PAB", "PHP", "USD"),
        *("VED", "VES"),
    )
)

# In ems. Source: the widths of Helvetica, which Arial shares (a 0.556, A 0.667,
# W 0.944, i 0.222, t 0.278, m 0.833).
NARROW, NARROW_EM = frozenset("iIjlt.,:;'|!/\\()[]f- "), 0.34
WIDE, WIDE_EM = frozenset("mMW@%"), 0.95
CAPITAL_EM, LETTER_EM, OTHER_EM = 0.72, 0.57, 1.0
LAST_LATIN = "\u024f"


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper: its number in a workbook, and its size in points."""

    code: int  # of ECMA-376 part 1, 18.3.1.63, paperSize
    width: float
    height: float


LETTER = Paper(1, 612, 792)
A4 = Paper(9, 595.3, 841.9)


def paper_of(currency: str) -> Paper:
    """Return the paper that is in the printers where a currency is paid."""
    return LETTER if currency in LETTER_CURRENCIES else A4


def text_width(text: str, size: float) -> float:
    """Return about how wide a text stands on one line, in points."""
    return size * sum(_em(letter) for letter in text)


def lines_needed(text: str, *, width: float, size: float) -> int:
    """Return into how many lines words break at a width; at least 1.

    >>> lines_needed("case 36 x 1 lb", width=40, size=10)
    2
    """
    lines, room = 1, width
    for word in text.split():
        wide = text_width(word, size)
        if wide > room and room < width:
            lines, room = lines + 1, width
        while wide > width:  # a word that no line holds is broken anywhere
            lines, wide = lines + 1, wide - width
        room -= wide + size * NARROW_EM
    return lines


def _em(letter: str) -> float:
    if letter in NARROW:
        return NARROW_EM
    if letter in WIDE:
        return WIDE_EM
    if letter > LAST_LATIN:
        return OTHER_EM
    return CAPITAL_EM if letter.isupper() else LETTER_EM


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
