"""`manage.py trace`: where something came from and went, one line a link."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.exports.trace_csv import trace_csv
from planning.management.planning_command import PlanningCommand
from planning.tracing.finding import FoundStart, find_starts
from planning.tracing.trace import StartKind, read_trace
from planning.wording.trace_words import (
    reached_words,
    row_words,
    start_words,
    trace_rows,
)
from stock.calendar.calendars import parse_date
from stock.models import Lot

KINDS = [kind.value for kind in StartKind if kind is not StartKind.DELIVERY]


class Command(PlanningCommand):
    tells_days = True
    help = gettext_noop(
        "Traces a lot, a cake or an order both ways: suppliers and orders, batches, "
        "cakes, and what is left. One line a link."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "what", metavar="LOT|CAKE|ORDER", help=_("its code or number")
        )
        parser.add_argument(
            "--item", metavar="NAME", help=_("where two items have a lot")
        )
        parser.add_argument("--use-by", metavar="DATE", help=_("where a code has two"))
        parser.add_argument(
            "--as", choices=KINDS, dest="kind", help=_("which is meant")
        )
        parser.add_argument("--csv", action="store_true", help=_("the same as CSV"))

    def handle(self, **options: Any) -> None:
        found = _only(options)
        trace = read_trace(found.start)
        rows = list(trace_rows(trace))
        if options["csv"]:
            self.stdout.write(trace_csv(rows), ending="")
            return
        self.stdout.write(f"{start_words(found.row)}. {reached_words(trace)}".rstrip())
        for row in rows:
            self.stdout.write(row_words(row))


def _only(options: dict[str, Any]) -> FoundStart:
    """Return the only thing that the arguments name; several are asked about."""
    found = find_starts(options["what"], item_name=options["item"] or "")
    if kind := options["kind"]:
        found = [each for each in found if each.start.kind == kind]
    if options["use_by"]:
        use_by = parse_date(options["use_by"])
        found = [
            each
            for each in found
            if isinstance(each.row, Lot) and each.row.use_by == use_by
        ]
    if len(found) == 1:
        return found[0]
    if not found:
        raise CommandError(
            _('"{name}" is there, but not so. Leave out an option.').format(
                name=options["what"]
            )
        )
    named = "; ".join(start_words(each.row) for each in found)
    raise CommandError(
        _("{names}: which? Say --item, --use-by or --as.").format(names=named)
    )
