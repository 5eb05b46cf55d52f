"""Writing a kitchen to disk: whole files or none, and nothing replaced unasked.

A whole kitchen as CSV files, one for each sheet, that read back the same.

They are UTF-8 with a byte order mark, without which spreadsheet programs garble
accents. Text that such a program would take for a formula gets an apostrophe, and so
does text that has one there already, so that exactly one is taken off on reading.
"""

import csv
import io
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from django.utils.translation import gettext as _

from planning.interchange.errors import KitchenOutError
from planning.interchange.taking_out import KitchenOut, SheetOut, cell_text, kitchen_out
from planning.interchange.workbook_writing import kitchen_workbook
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


Format = Literal["xlsx", "csv"]
ENDING = ".xlsx"
READABLE_BY_ALL = 0o644


def dump_kitchen(format: Format, path: Path, *, force: bool = False) -> KitchenOut:  # noqa: A002 (the word for it)
    """Write a workbook, or a folder of CSV files; return what was written.

    A reader of the files never sees half of one. Without force nothing is replaced.
    """
    kitchen = kitchen_out()
    try:
        if format == "csv":
            _write_folder(path, kitchen_csv_files(kitchen), force=force)
        else:
            _check_workbook_path(path)
            _write_files({path: kitchen_workbook(kitchen)}, force=force)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise KitchenOutError(
            _("{path} cannot be written: {reason}.").format(path=path, reason=reason)
        ) from error
    return kitchen


def _check_workbook_path(path: Path) -> None:
    if path.is_dir():
        raise KitchenOutError(
            _(
                "{path} is a folder. Name a file in it, or add --csv for CSV files."
            ).format(path=path)
        )
    if path.suffix.lower() != ENDING:
        raise KitchenOutError(
            _(
                "{name} does not end in {ending}. Name a file that does, or add "
                "--csv for a folder of CSV files."
            ).format(name=path.name, ending=ENDING)
        )


def _write_folder(folder: Path, files: Mapping[str, bytes], *, force: bool) -> None:
    if folder.exists() and not folder.is_dir():
        raise KitchenOutError(
            _("{folder} is a file. Name a folder for the CSV files.").format(
                folder=folder
            )
        )
    folder.mkdir(parents=True, exist_ok=True)
    _write_files(
        {folder / name: content for name, content in files.items()}, force=force
    )


def _write_files(files: Mapping[Path, bytes], *, force: bool) -> None:
    """Write all files beside their places, then move each of them in at once."""
    there = [path for path in files if path.exists()]
    if there and not force:
        raise KitchenOutError(
            _(
                "{there} already exists. Name another place, or add --force to "
                "replace it."
            ).format(there=there[0])
        )
    parts: dict[Path, str] = {}
    try:
        for path, content in files.items():
            parts[path] = _write_beside(path, content)
        for path, part in parts.items():
            os.replace(part, path)
    finally:
        for part in parts.values():
            Path(part).unlink(missing_ok=True)


def _write_beside(path: Path, content: bytes) -> str:
    with tempfile.NamedTemporaryFile(
        dir=path.parent, prefix=".writing-", delete=False
    ) as part:
        part.write(content)
    os.chmod(part.name, READABLE_BY_ALL)
    return part.name
