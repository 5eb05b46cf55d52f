"""What was read of a file as JSON: kept between the look at it and its storing.

A workbook takes seconds to read, and what it holds does not change meanwhile.
"""

import json
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from planning.interchange.errors import CellFault
from planning.interchange.grids import KitchenCells
from planning.interchange.kitchens import SheetRows
from stock.entry.cells import Unreadable

# Of the values that a spreadsheet hands over, those that JSON has no form of: how each
# is written and read again. A moment is a date too, so it is asked for first.
FORMS: tuple[tuple[type, Any, Any], ...] = (
    (Unreadable, lambda cell: cell.message, Unreadable),
    (datetime, datetime.isoformat, datetime.fromisoformat),
    (date, date.isoformat, date.fromisoformat),
    (time, time.isoformat, time.fromisoformat),
    (
        timedelta,
        lambda cell: [cell.days, cell.seconds, cell.microseconds],
        lambda said: timedelta(*said),
    ),
    (Decimal, str, Decimal),
)


def dump_cells(cells: KitchenCells) -> bytes:
    """Return what a file holds, as `load_cells` reads it again."""
    sheets = [
        [
            name,
            _columns(kept),
            kept.rows,
            [list(each.values()) for each in kept.entries],
        ]
        for name, kept in cells.sheets.items()
    ]
    letters = [[*place, letter] for place, letter in cells.letters.items()]
    faults = [[fault.cell, fault.message] for fault in cells.faults]
    return json.dumps([sheets, letters, faults], default=_written).encode()


def load_cells(content: bytes) -> KitchenCells:
    """Return what `dump_cells` has written, equal to what it was given."""
    sheets, letters, faults = json.loads(content)
    return KitchenCells(
        sheets={
            name: SheetRows(
                [
                    dict(zip(columns, map(_read, values), strict=True))
                    for values in entries
                ],
                rows,
            )
            for name, columns, rows, entries in sheets
        },
        letters={(sheet, column): letter for sheet, column, letter in letters},
        faults=[CellFault(cell, message) for cell, message in faults],
    )


def _columns(kept: SheetRows) -> list[str]:
    """Return the columns of a sheet: each of its entries names them all."""
    return list(kept.entries[0]) if kept.entries else []


def _written(cell: object) -> list[Any]:
    for number, (kind, write, _) in enumerate(FORMS):
        if isinstance(cell, kind):
            return [number, write(cell)]
    raise TypeError(f"no cell holds {cell!r}")


def _read(said: Any) -> object:
    if not isinstance(said, list):
        return said
    number, written = said
    return FORMS[number][2](written)
