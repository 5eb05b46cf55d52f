"""Reading a kitchen from a folder of CSV files, each named after its sheet.

The files are UTF-8, with or without a byte order mark, and split by commas. An
apostrophe before text that a spreadsheet program would take for a formula is the mark
for text, and is no part of it.

Reading a kitchen from a path: a workbook, or a folder of CSV files.
"""

import csv
import re
from pathlib import Path

from django.utils.translation import gettext as _

from planning.interchange.errors import KitchenFileError
from planning.interchange.grids import SHEET_BY_NAME, Grid, KitchenCells, kitchen_cells
from planning.interchange.limits import BY_COMMAND, TOO_MUCH
from planning.interchange.workbook_reading import Tell, read_workbook, tell_nobody
from stock.entry.entries import folded
from stock.wording.safe_text import FORMULA_STARTS

MARKED_AS_TEXT = re.compile(f"'+[{re.escape(''.join(FORMULA_STARTS))}]")
OTHER_DELIMITERS = {";": "semicolons", "\t": "tabs"}


def read_csv_folder(folder: Path) -> list[Grid]:
    """Return the sheets in a folder; files that are no CSV are passed over."""
    files = sorted(
        path
        for path in folder.iterdir()
        if path.suffix.lower() == ".csv" and not path.name.startswith(".")
    )
    if not any(folded(path.stem) in SHEET_BY_NAME for path in files):
        known = ", ".join(f"{sheet.name}.csv" for sheet in SHEET_BY_NAME.values())
        raise KitchenFileError(
            f"There is no sheet of a kitchen in the folder {folder}. "
            f"Its files are called {known}."
        )
    for path in files:
        refuse_what_is_no_file(path)
    if sum(path.stat().st_size for path in files) > BY_COMMAND.unpacked_bytes:
        raise KitchenFileError(f"The files in {folder} are too large. {TOO_MUCH}")
    return [Grid(path.stem.strip(), _rows(path)) for path in files]


def refuse_what_is_no_file(path: Path) -> None:
    """Refuse a folder where a file should be, and what would never end: a pipe."""
    if path.exists() and not path.is_file():
        raise KitchenFileError(f"{path} isn't a file. Remove it, or name another.")


def _rows(path: Path) -> list[tuple[int, list[str]]]:
    rows = []
    cells = 0
    try:
        with path.open(encoding="utf-8-sig", newline="") as lines:
            for number, row in enumerate(csv.reader(lines, strict=True), start=1):
                cells += len(row)
                if cells > BY_COMMAND.cells:
                    raise KitchenFileError(f"{path.name} is too large. {TOO_MUCH}")
                rows.append((number, [_typed(cell) for cell in row]))
    except UnicodeDecodeError as error:
        raise KitchenFileError(
            f"{path.name} is not written in UTF-8. "
            'Save it again as "CSV UTF-8 (comma delimited)".'
        ) from error
    except csv.Error as error:
        raise KitchenFileError(
            f"{path.name} is broken after row {len(rows)} ({error}). Check the "
            "quotation marks there, or save it again from the spreadsheet."
        ) from error
    _refuse_other_delimiters(path, rows)
    return rows


def _typed(cell: str) -> str:
    return cell[1:] if MARKED_AS_TEXT.match(cell) else cell


def _refuse_other_delimiters(path: Path, rows: list[tuple[int, list[str]]]) -> None:
    header = rows[0][1] if rows else []
    for delimiter, words in OTHER_DELIMITERS.items():
        if len(header) == 1 and delimiter in header[0]:
            raise KitchenFileError(
                f"The columns of {path.name} are separated by {words}. "
                "Save it again with commas between them."
            )


def read_kitchen(path: Path, *, tell: Tell = tell_nobody) -> KitchenCells:
    """Return what a workbook or a folder of CSV files holds.

    What cannot be read at all is a KitchenFileError; what is wrong with single cells
    is left to whoever keeps them. `tell` hears of each sheet of a workbook before it is
    read.
    """
    try:
        if path.is_dir():
            return kitchen_cells(read_csv_folder(path))
        if path.suffix.lower() == ".csv":
            raise KitchenFileError(
                _(
                    "{name} is one sheet alone. Put the CSV files of a kitchen into "
                    "one folder, and name the folder."
                ).format(name=path.name)
            )
        refuse_what_is_no_file(path)
        with path.open("rb") as file:
            grids = read_workbook(file, path.name, BY_COMMAND, tell=tell)
            return kitchen_cells(grids)
    except FileNotFoundError as error:
        raise KitchenFileError(
            _("There is no file or folder {path}.").format(path=path)
        ) from error
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        where = error.filename or path
        raise KitchenFileError(
            _("{where} cannot be read: {reason}.").format(where=where, reason=reason)
        ) from error
