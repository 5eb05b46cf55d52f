"""Loading a kitchen: everything in a file is stored, or nothing is.

A kitchen comes as cells that `reading` has read, or as rows held in memory, by sheet;
those count from row 2, as in a file. Names in rows that cannot be stored count as
known, so that one mistake is one sentence.
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from planning.entry.sheets import SHEETS
from planning.interchange import kitchens
from planning.interchange.credible import credible
from planning.interchange.errors import (
    CellFault,
    KitchenFaultsError,
    KitchenMovedOnError,
)
from planning.interchange.grids import KitchenCells, grids_of_rows, kitchen_cells
from stock.entry.entries import EntryFaultsError, Fault, Kept

RawSheets = Mapping[str, Sequence[Mapping[str, object]]]

SHEET_ORDER = {sheet.name: number for number, sheet in enumerate(SHEETS)}
SHEET_BY_NAME = {sheet.name: sheet for sheet in SHEETS}


@dataclass(frozen=True, slots=True)
class LoadReport:
    """What loading a kitchen did, or would do, sheet by sheet."""

    kept_by_sheet: Mapping[str, Kept]
    faults: tuple[CellFault, ...] = ()  # of a preview: what would be rejected

    @property
    def added(self) -> int:
        """How many rows are new."""
        return sum(len(kept.added) for kept in self.kept_by_sheet.values())

    @property
    def changed(self) -> int:
        """How many rows are no longer what they were."""
        return sum(len(kept.changed_keys) for kept in self.kept_by_sheet.values())

    @property
    def unchanged(self) -> int:
        """How many rows are stored already as they are in the file."""
        return sum(kept.unchanged for kept in self.kept_by_sheet.values())

    @property
    def changes_nothing(self) -> bool:
        """Whether all that the file holds is stored already."""
        return not (self.added or self.changed)

    def fingerprint(self) -> str:
        """Return a text that differs where anything else would be stored."""
        words = repr(
            [
                (sheet, kept.added, kept.changed, kept.unchanged)
                for sheet, kept in self.kept_by_sheet.items()
            ]
        )
        return hashlib.sha256(words.encode()).hexdigest()


@transaction.atomic
def load_kitchen(
    sheets: KitchenCells | RawSheets,
    *,
    at: datetime | None = None,
    by: User | None = None,
    as_previewed: str = "",
) -> LoadReport:
    """Store a kitchen, or nothing; say what was added, changed and left alone.

    What a kitchen leaves out stays as it is; the same again changes nothing. Stock is
    what is on hand now, or was at `at`. Raises KitchenFaultsError with every faulty
    cell, and KitchenMovedOnError where it would come to anything else than the preview
    of the fingerprint given.
    """
    cells = _cells(sheets)
    if cells.faults:
        raise KitchenFaultsError(_faults_of_layout(cells))
    by_id = None if by is None else by.pk
    try:
        kept = kitchens.keep_kitchen(cells.sheets, at=at, by_id=by_id)
    except EntryFaultsError as error:
        raise KitchenFaultsError(_faults(cells, error.faults)) from error
    report = LoadReport(kept)
    if as_previewed and as_previewed != report.fingerprint():
        raise KitchenMovedOnError
    return report


def preview_kitchen(
    sheets: KitchenCells | RawSheets, *, at: datetime | None = None
) -> LoadReport:
    """Return what `load_kitchen` would do and what it would reject; store nothing."""
    cells = _cells(sheets)
    if cells.faults:
        return LoadReport({}, tuple(_faults_of_layout(cells)))
    outcome = kitchens.preview_kitchen(cells.sheets, at=at)
    return LoadReport(outcome.kept, tuple(_faults(cells, outcome.faults)))


def _cells(sheets: KitchenCells | RawSheets) -> KitchenCells:
    if isinstance(sheets, KitchenCells):
        return sheets
    return kitchen_cells(grids_of_rows(sheets))


def _faults_of_layout(cells: KitchenCells) -> list[CellFault]:
    """Return what is wrong with headers, and with each cell for itself.

    What rows say of each other cannot be judged before all of them can be found.
    """
    unread = [
        Fault(number, column, message, name)
        for name, rows in cells.sheets.items()
        for number, entry in zip(rows.rows or (), rows.entries, strict=True)
        for column, message in SHEET_BY_NAME[name].read(entry).faults.items()
        if (name, column) in cells.letters
    ]
    return [*cells.faults, *_faults(cells, unread)]


def _faults(cells: KitchenCells, faults: Iterable[Fault]) -> list[CellFault]:
    found: dict[CellFault, tuple[int, int, str]] = {}
    lacking: dict[tuple[str, str], list[Fault]] = {}
    for fault in credible(faults, cells.sheets):
        if _is_of_lacking_column(cells, fault):
            lacking.setdefault((fault.sheet, fault.column), []).append(fault)
            continue
        cell = cells.address(fault.sheet, fault.column, fault.row)
        column = cells.letters.get((fault.sheet, fault.column), "")
        place = SHEET_ORDER[fault.sheet], fault.row, column.rjust(3)
        found.setdefault(CellFault(cell, fault.message), place)
    for (sheet, column), of_column in lacking.items():
        message = _lacking_sentence(column, of_column)
        found[CellFault(f"{sheet}!A1", message)] = SHEET_ORDER[sheet], 1, ""
    return sorted(found, key=found.__getitem__)


def _is_of_lacking_column(cells: KitchenCells, fault: Fault) -> bool:
    column = SHEET_BY_NAME[fault.sheet].column(fault.column)
    return column.required and (fault.sheet, fault.column) not in cells.letters


def _lacking_sentence(column: str, faults: Sequence[Fault]) -> str:
    more = len(faults) - 1
    also = _(" {more} more of its rows need it too.").format(more=more) if more else ""
    return _('There is no column "{column}". {message}{also}').format(
        column=column, message=faults[0].message, also=also
    )
