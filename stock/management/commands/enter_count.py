"""Enter a filled-in count sheet."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.counts.paper import Entered, enter_sheet, read_count_file
from stock.entry.entries import EntryFaultsError, Fault
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand


class Command(PlainCommand):
    tells_days = True
    help = gettext_noop(
        "Enters a CSV file as count_sheet --csv prints it, with its quantities filled "
        "in: all of it, or nothing and every faulty cell. A blank quantity is not "
        "counted; the same file again changes nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", help=_("the filled-in CSV file"))
        arguments.add_count(parser)
        arguments.add_by(parser)

    def handle(self, **options: Any) -> None:
        try:
            self._enter(options)
        except EntryFaultsError as error:
            *others, last = error.faults
            for fault in others:
                self.stderr.write(_cell(fault), lambda text: text)
            self.refuse(_("{cell} Nothing was entered.").format(cell=_cell(last)))

    def _enter(self, options: dict[str, Any]) -> None:
        rows, named = read_count_file(Path(options["file"]))
        count = arguments.live_count(options["count"] or named)
        if named is not None and named != count.pk:
            self.refuse(
                _("The file is of count {named}, not of count {pk}.").format(
                    named=named, pk=count.pk
                )
            )
        entered = enter_sheet(
            count.pk,
            rows,
            at=timezone.now(),
            by_id=arguments.person_id(options["by"]),
        )
        for answer in entered.answers:
            self.stdout.write(answer.sentence)
            if answer.slip:
                self.stdout.write(f"  {answer.slip.sentence}")
        for replaced in entered.replaced:
            self.stdout.write(
                _('{code}: "{now}" replaces "{was}".').format(
                    code=replaced.code, now=replaced.now, was=replaced.was
                )
            )
        self.stdout.write(_closing(entered, count.pk))


def _cell(fault: Fault) -> str:
    return _("Row {row}, {column}: {message}").format(
        row=fault.row, column=fault.column, message=fault.message
    )


def _closing(entered: Entered, count_id: int) -> str:
    return _(
        "Count {count_id}: {count} lines entered, {unchanged} as before, "
        "{blank} not counted."
    ).format(
        count_id=count_id,
        count=len(entered.answers),
        unchanged=entered.unchanged,
        blank=entered.blank,
    )
