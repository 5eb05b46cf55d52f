"""Print the sheet of a count, to be filled in with a pencil or in a spreadsheet."""

import csv
from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.counts import counting
from stock.counts.paper import csv_rows, units_words
from stock.counts.sheets import CountSheet
from stock.management import count_arguments as arguments
from stock.management.plain_command import PlainCommand

# As wide as most names are; longer ones push their line to the right.
CODE_WIDTH, NAME_WIDTH, UNITS_WIDTH = 14, 34, 24
BLANK = "______________"


class Command(PlainCommand):
    tells_days = True
    help = gettext_noop(
        "Prints a count's lines in walking order, each with a short code."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        arguments.add_count(parser)
        parser.add_argument(
            "--place",
            action="append",
            metavar="NAME",
            help=_("only this place; may be given again"),
        )
        parser.add_argument(
            "--csv",
            action="store_true",
            help=_("as a file that enter_count takes back"),
        )

    def handle(self, **options: Any) -> None:
        count = arguments.live_count(options["count"])
        sheets = counting.sheets(count.pk)
        if options["place"]:
            walked = [sheet.place for sheet in sheets]
            wanted = arguments.places_named(options["place"], walked)
            sheets = [sheet for sheet in sheets if sheet.place in wanted]
        if options["csv"]:
            csv.writer(self.stdout, lineterminator="\n").writerows(csv_rows(sheets))
            return
        for line in _printed(sheets, arguments.local_words(count.counted_at)):
            self.stdout.write(line)


def _printed(sheets: Sequence[CountSheet], moment: str) -> Iterator[str]:
    for sheet in sheets:
        yield _("Count {pk} as of {moment}: {name}").format(
            pk=sheet.count.pk, moment=moment, name=sheet.place.name
        )
        yield ""
        for line in sheet.lines:
            name = line.line.item.name
            if line.line.use_by:
                name = _("{name}, use by {use_by}").format(
                    name=name, use_by=line.line.use_by
                )
            yield (
                f"{line.line.code:<{CODE_WIDTH}} {name:<{NAME_WIDTH}} "
                f"{units_words(line):<{UNITS_WIDTH}} {BLANK} {line.counting_unit or ''}"
            )
        if not sheet.lines:
            yield _("Nothing is listed here. Write down what you find.")
        yield ""
