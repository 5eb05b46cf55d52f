"""A whole kitchen as CSV files, one for each sheet, that read back the same.

They are UTF-8 with a byte order mark, without which spreadsheet programs garble
accents. Text that such a program would take for a formula gets an apostrophe, and so
does text that has one there already, so that exactly one is taken off on reading.
"""

import csv
import io
from typing import Any

from planning.interchange.taking_out import KitchenOut, SheetOut, cell_text
from stock.wording.safe_text import looks_like_formula, writable

APOSTROPHE = "'"


def kitchen_csv_files(kitchen: KitchenOut) -> dict[str, bytes]:
    """Return the content of each file by its name."""
    return {f"{sheet.name}.csv": _content(sheet) for sheet in kitchen.sheets}


def _content(sheet_out: SheetOut) -> bytes:
    buffer = io.StringIO(newline="")
    writer = csv.writer(buffer)
    writer.writerow([column.name for column in sheet_out.sheet.columns])
    writer.writerows([_text(value) for value in row] for row in sheet_out.rows)
    return buffer.getvalue().encode("utf-8-sig")


def _text(value: Any) -> str:
    text = writable(cell_text(value))
    needs_mark = looks_like_formula(text.lstrip(APOSTROPHE))
    return f"{APOSTROPHE}{text}" if needs_mark else text
