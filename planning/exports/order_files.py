"""Order files on disk: a spreadsheet, a CSV file and a message for each order."""

import os
import tempfile
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

from django.utils.translation import gettext as _

from planning.errors import PlanningError
from planning.exports.order_csv import order_csv
from planning.exports.order_message import order_message
from planning.exports.order_sheet import OrderSheet
from planning.exports.order_workbook import order_workbook
from stock.wording.safe_text import file_stem

PART_PREFIX = ".writing-"
LEFT_AFTER_SECONDS = 60 * 60


class OrderFolderError(PlanningError):
    """The folder for the order files cannot be written to."""


def write_order_files(orders: Sequence[OrderSheet], folder: Path) -> list[Path]:
    """Write every order into the folder; return the spreadsheets' paths.

    A file of the same name is replaced whole: a reader never sees half of one.
    """
    written = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _clear_leftovers(folder)
        for stem, order in zip(file_stems(orders), orders, strict=True):
            workbook_path = folder / f"{stem}.xlsx"
            _replace(workbook_path, order_workbook(order))
            _replace(folder / f"{stem}.csv", order_csv(order).encode())
            _replace(folder / f"{stem}.txt", order_message(order).encode())
            written.append(workbook_path)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise OrderFolderError(
            _(
                "The orders cannot be written to {folder}: {reason}. Name another "
                "folder with --out."
            ).format(folder=folder, reason=reason)
        ) from error
    return written


def file_stems(orders: Sequence[OrderSheet]) -> list[str]:
    """Return a different file name for each order, without its ending."""
    stems: list[str] = []
    for order in orders:
        stem = file_stem(order.deliver_on.isoformat(), order.supplier, order.reference)
        number = 2
        unique = stem
        while unique in stems:
            unique, number = f"{stem}-{number}", number + 1
        stems.append(unique)
    return stems


def _clear_leftovers(folder: Path) -> None:
    """Remove what a writer that was cut off has left; a younger one may be at work."""
    for part in folder.glob(f"{PART_PREFIX}*"):
        with suppress(FileNotFoundError):
            if time.time() - part.stat().st_mtime > LEFT_AFTER_SECONDS:
                part.unlink()


def _replace(path: Path, content: bytes) -> None:
    with tempfile.NamedTemporaryFile(
        dir=path.parent, prefix=PART_PREFIX, delete=False
    ) as part:
        part.write(content)
    try:
        os.chmod(part.name, 0o644)
        os.replace(part.name, path)
    except OSError:
        Path(part.name).unlink(missing_ok=True)
        raise
