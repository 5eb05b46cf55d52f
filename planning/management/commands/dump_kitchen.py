"""`manage.py dump_kitchen`: a whole kitchen out, as a workbook or CSV files."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext

from planning.interchange.dumping import dump_kitchen
from planning.interchange.taking_out import NOT_HELD
from planning.management.planning_command import PlanningCommand


class Command(PlanningCommand):
    help = gettext_noop(
        "Writes everything that is stored into a workbook, or CSV files in a folder."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "path",
            metavar="PATH",
            help=_("the workbook (.xlsx), or with --csv a folder"),
        )
        parser.add_argument(
            "--csv", action="store_true", help=_("a CSV file each sheet")
        )
        parser.add_argument(
            "--force", action="store_true", help=_("replace what already exists")
        )

    def handle(self, **options: Any) -> None:
        path = Path(options["path"])
        kitchen = dump_kitchen(
            "csv" if options["csv"] else "xlsx", path, force=options["force"]
        )
        for sentence in kitchen.left_out:
            self.stdout.write(sentence)
        rows = ngettext("1 row", "{rows} rows", kitchen.rows).format(rows=kitchen.rows)
        self.stdout.write(
            _("The kitchen is in {path}: {rows}.").format(path=path, rows=rows)
        )
        self.stdout.write(str(NOT_HELD))
