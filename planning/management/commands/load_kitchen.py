"""`manage.py load_kitchen`: a whole kitchen in, from a workbook or CSV files."""

from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NoReturn
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.interchange import report_words
from planning.interchange.errors import CellFault, KitchenFaultsError
from planning.interchange.grids import KitchenCells
from planning.interchange.loading import LoadReport, load_kitchen, preview_kitchen
from planning.interchange.reading import read_kitchen
from planning.management.plan_arguments import read_moment
from planning.management.planning_command import PlanningCommand
from stock.bakery import COLUMN_BY_SETTING
from stock.entry.cells import CellError
from stock.entry.entries import folded
from stock.models import Bakery
from stock.saving.sheets import SETTINGS

MOST_NAMES_SHOWN = 20
MANY_CELLS = 20_000  # from here on reading takes seconds


class Command(PlanningCommand):
    tells_days = True
    help = gettext_noop(
        "Stores a kitchen workbook, or a folder of CSV files named after its sheets: "
        "all of it, or nothing and every faulty cell."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", metavar="PATH", help=_("a workbook or a folder"))
        parser.add_argument(
            "--preview",
            action="store_true",
            help=_("say what would be added and changed, and store nothing"),
        )
        parser.add_argument(
            "--at",
            metavar="MOMENT",
            help=_("when its stock was on hand, like 2026-05-04T15:10; default: now"),
        )

    def handle(self, **options: Any) -> None:
        try:
            self._load(options)
        except KitchenFaultsError as error:
            self._refuse_cells(error.faults)

    def _load(self, options: dict[str, Any]) -> None:
        cells = read_kitchen(Path(options["path"]), tell=self._tell)
        at = read_moment(options["at"], _zone(cells)) if options["at"] else None
        if options["preview"]:
            report = preview_kitchen(cells, at=at)
            self._print(_preview_lines(report))
            if report.faults:
                raise KitchenFaultsError(report.faults)
        else:
            report = load_kitchen(cells, at=at)
            self._print(report_words.sheet_sentences(report))
        if warning := report_words.baked_warning(report):
            self.stdout.write(warning)
        self.stdout.write(
            report_words.closing_sentence(report, preview=options["preview"])
        )

    def _tell(self, sheet: str, cells: int) -> None:
        """Say at a terminal how far the reading has come; a pipe need not know."""
        if self.stderr.isatty() and cells >= MANY_CELLS:
            self.stderr.write(
                _("Reading {sheet}: {cells:,} cells").format(sheet=sheet, cells=cells),
                lambda text: text,
            )

    def _print(self, lines: Iterator[str]) -> None:
        for line in lines:
            self.stdout.write(line)

    def _refuse_cells(self, faults: Sequence[CellFault]) -> NoReturn:
        """End the command with every faulty cell, one a line."""
        *others, last = map(str, faults)
        if not self._is_from_terminal:
            self.refuse(" ".join([*others, last]))
        for line in others:
            self.stderr.write(line, lambda text: text)
        self.refuse(last)


def _preview_lines(report: LoadReport) -> Iterator[str]:
    for sentence, kept in zip(
        report_words.sheet_sentences(report),
        report.kept_by_sheet.values(),
        strict=True,
    ):
        yield sentence
        if kept.added:
            names = report_words.names_words(kept.added, MOST_NAMES_SHOWN)
            yield _("  added: {names}").format(names=names)
        for change in kept.changed:
            yield f"  {report_words.change_sentence(change)}"


def _zone(cells: KitchenCells) -> ZoneInfo:
    """Return the file's own time zone, if it sets one, else the bakery's."""
    settings = cells.sheets.get(SETTINGS.name)
    for entry in settings.entries if settings else ():
        if folded(str(entry.get("setting"))) == "time_zone":
            try:
                return ZoneInfo(COLUMN_BY_SETTING["time_zone"].read(entry.get("value")))
            except CellError:
                break  # loading says what is wrong with it
    return Bakery.current().zone
