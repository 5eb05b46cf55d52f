"""What a look at a file shows: rows to be added, changed, and cells to put right."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy

from planning.interchange.errors import CellFault
from planning.interchange.loading import LoadReport
from planning.interchange.report_words import BLANK, baked_warning

# A page that a browser still draws at once.
MOST_ROWS_SHOWN = 1_000
FIGURES = {"td": {"class": "num"}, "th": {"class": "num"}}
WORDS = {"td": {"class": "words"}}


@dataclass(frozen=True, slots=True)
class SheetRow:
    """What one sheet would bring."""

    sheet: str
    names: tuple[str, ...]
    changed: int
    unchanged: int
    faulty: int

    @property
    def added(self) -> SafeString | int:
        """How many are new; tapped, they show their names."""
        if not self.names:
            return 0
        shown = [(name,) for name in self.names[:MOST_ROWS_SHOWN]]
        return format_html(
            "<details><summary>{}</summary><ul>{}</ul></details>",
            len(self.names),
            format_html_join("", "<li>{}</li>", shown),
        )


class SheetsTable(tables.Table):
    """The sheets of a file, and how much of each is new."""

    caption = gettext_lazy(
        "Rows on each sheet of the file. Tap a number to see what is added."
    )
    sheet = tables.Column(gettext_lazy("Sheet"))
    added = tables.Column(gettext_lazy("Added"))
    changed = tables.Column(gettext_lazy("Changed"), attrs=FIGURES)
    unchanged = tables.Column(gettext_lazy("Unchanged"), attrs=FIGURES)
    faulty = tables.Column(gettext_lazy("Faulty"), attrs=FIGURES)

    class Meta:
        orderable = False
        attrs = {"class": "across"}


class ChangesTable(tables.Table):
    """Every value that would no longer be what it is."""

    caption = gettext_lazy("What is stored now, and what would be stored instead.")
    key = tables.Column(gettext_lazy("Row"))
    column = tables.Column(gettext_lazy("Column"))
    before = tables.Column(gettext_lazy("Now"))
    after = tables.Column(gettext_lazy("Then"))
    sheet = tables.Column(gettext_lazy("Sheet"))

    class Meta:
        orderable = False


class FaultsTable(tables.Table):
    """Every cell that cannot be taken, with what to write instead."""

    caption = gettext_lazy("Cells of the file by sheet, column and row.")
    cell = tables.Column(gettext_lazy("Cell"))
    message = tables.Column(gettext_lazy("What is wrong"), attrs=WORDS)

    class Meta:
        orderable = False


def report_context(report: LoadReport) -> dict[str, Any]:
    """Return what the page shows of a report; very long tables are cut, and say so."""
    changes = list(_change_rows(report))
    return {
        "report": report,
        "baked_warning": baked_warning(report),
        "sheets": SheetsTable(_sheet_rows(report)),
        "changes": ChangesTable(changes[:MOST_ROWS_SHOWN]) if changes else None,
        "more_changes": max(len(changes) - MOST_ROWS_SHOWN, 0),
        "faults": _faults_table(report.faults),
        "more_faults": max(len(report.faults) - MOST_ROWS_SHOWN, 0),
    }


def _sheet_rows(report: LoadReport) -> list[SheetRow]:
    return [
        SheetRow(sheet, kept.added, len(kept.changed_keys), kept.unchanged, kept.faulty)
        for sheet, kept in report.kept_by_sheet.items()
    ]


def _change_rows(report: LoadReport) -> Iterable[dict[str, str]]:
    for sheet, kept in report.kept_by_sheet.items():
        for change in kept.changed:
            yield {
                "sheet": sheet,
                "key": change.key,
                "column": change.column,
                "before": change.before or BLANK,
                "after": change.after or BLANK,
            }


def _faults_table(faults: tuple[CellFault, ...]) -> FaultsTable | None:
    return FaultsTable(faults[:MOST_ROWS_SHOWN]) if faults else None
