"""Sheets as they stand in a file: cells in rows, and the entries they stand for.

The reader of each file format fills grids; here their headers are matched with the
columns of the kitchen workbook. Row 1 is the header, columns come in any order, blank
rows are passed over, and names match without regard to case and outer spaces.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from django.utils.translation import gettext as _
from openpyxl.utils import get_column_letter

from planning.entry.sheets import SHEETS
from planning.interchange.errors import CellFault
from planning.interchange.kitchens import SheetRows
from stock.entry.cells import Unreadable, is_blank
from stock.entry.entries import Sheet, folded
from stock.wording import names

HEADER_ROW = 1
SHEET_BY_NAME = {folded(sheet.name): sheet for sheet in SHEETS}

Cells = Sequence[object]  # of one row, from column A on


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet of a file; a cell is what was typed, a value, or Unreadable."""

    name: str
    rows: Iterable[tuple[int, Cells]]  # with their numbers, from 1; blank ones may lack
    merged: Sequence[str] = ()  # such as `B2:C5`


@dataclass(slots=True)
class KitchenCells:
    """A kitchen as a file holds it, ready to be kept, and where each cell stands."""

    sheets: dict[str, SheetRows] = field(default_factory=dict)
    letters: dict[tuple[str, str], str] = field(default_factory=dict)
    faults: list[CellFault] = field(default_factory=list)  # of headers and layout

    def address(self, sheet: str, column: str, row: int) -> str:
        """Return where a cell stands: `Recipe lines!C14`.

        What is said of a column that the file lacks stands at its row's first key.
        """
        letter = self.letters.get((sheet, column)) or self._key_letter(sheet)
        return f"{sheet}!{letter}{row}"

    def _key_letter(self, sheet: str) -> str:
        keys = SHEET_BY_NAME[folded(sheet)].keys
        return self.letters.get((sheet, keys[0].name), "A")


def kitchen_cells(grids: Iterable[Grid]) -> KitchenCells:
    """Return what the sheets of a file hold, and what is wrong with their layout."""
    kitchen = KitchenCells()
    for grid in grids:
        sheet = SHEET_BY_NAME.get(folded(grid.name))
        if sheet is None:
            known = [each.name for each in SHEETS]
            _fault(kitchen, grid, 1, 1, names.unknown("sheet", grid.name, known))
        elif sheet.name in kitchen.sheets:
            _fault(
                kitchen,
                grid,
                1,
                1,
                _("There is a second sheet {name}.").format(name=sheet.name),
            )
        else:
            kitchen.sheets[sheet.name] = _read(kitchen, grid, sheet)
    return kitchen


def grids_of_rows(
    raw_sheets: Mapping[str, Sequence[Mapping[str, object]]],
) -> list[Grid]:
    """Return rows held in memory as they would stand in a file, from row 2 on."""
    grids = []
    for name, rows in raw_sheets.items():
        header = list(dict.fromkeys(column for row in rows for column in row))
        cells: list[Cells] = [header]
        cells += [[row.get(column) for column in header] for row in rows]
        grids.append(Grid(name, list(enumerate(cells, start=HEADER_ROW))))
    return grids


def _fault(
    kitchen: KitchenCells, grid: Grid, row: int, column: int, message: str
) -> None:
    cell = f"{grid.name}!{get_column_letter(column)}{row}"
    kitchen.faults.append(CellFault(cell, message))


def _read(kitchen: KitchenCells, grid: Grid, sheet: Sheet) -> SheetRows:
    for area in grid.merged:
        first = area.partition(":")[0]
        message = _(
            "{area} are merged into one. Unmerge them, and fill in every cell."
        ).format(area=area)
        kitchen.faults.append(CellFault(f"{grid.name}!{first}", message))
    filled = [row for row in grid.rows if not all(is_blank(cell) for cell in row[1])]
    if not filled:
        return SheetRows([], [])
    (number, header), *rows = filled
    if number != HEADER_ROW:
        message = _("The first row is blank. Write the names of the columns there.")
        _fault(kitchen, grid, HEADER_ROW, 1, message)
        return SheetRows([], [])
    columns = _columns(kitchen, grid, sheet, header)
    _refuse_nameless(kitchen, grid, columns, rows)
    named = [(place, name) for place, name in enumerate(columns) if name]
    entries = [
        {name: cells[place] if place < len(cells) else None for place, name in named}
        for _other, cells in rows
    ]
    return SheetRows(entries, [number for number, _other in rows])


def _columns(
    kitchen: KitchenCells, grid: Grid, sheet: Sheet, header: Cells
) -> list[str | None]:
    """Return the column that each heading names; None for a blank one, "" for none."""
    known = {folded(column.name): column.name for column in sheet.columns}
    columns: list[str | None] = []
    for position, heading in enumerate(header, start=1):
        if is_blank(heading):
            columns.append(None)
            continue
        name = known.get(folded(str(heading)), "")
        message = _heading_fault(name, heading, columns, known.values())
        if message:
            _fault(kitchen, grid, HEADER_ROW, position, message)
        else:
            kitchen.letters[sheet.name, name] = get_column_letter(position)
        columns.append("" if message else name)
    for column in sheet.keys:
        if column.name not in columns and not column.key_may_be_blank:
            message = _('There is no column "{name}", and every row needs it.').format(
                name=column.name
            )
            _fault(kitchen, grid, HEADER_ROW, 1, message)
    return columns


def _heading_fault(
    name: str, heading: object, before: Sequence[str | None], known: Iterable[str]
) -> str:
    if isinstance(heading, Unreadable):
        return heading.message
    if not name:
        return names.unknown("column", str(heading).strip(), known)
    return (
        _("There is a second column {name}.").format(name=name)
        if name in before
        else ""
    )


def _refuse_nameless(
    kitchen: KitchenCells,
    grid: Grid,
    columns: Sequence[str | None],
    rows: Iterable[tuple[int, Cells]],
) -> None:
    """Note the first cell of each column that has entries but no heading."""
    seen = {place for place, name in enumerate(columns) if name is not None}
    for number, cells in rows:
        for place, cell in enumerate(cells):
            if place not in seen and not is_blank(cell):
                seen.add(place)
                message = _("This column has no name. Write one into its first row.")
                _fault(kitchen, grid, number, place + 1, message)
