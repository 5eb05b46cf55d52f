"""`manage.py write_orders`: the plan's orders as spreadsheets, one a truck."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from planning.exports.order_files import write_order_files
from planning.management.plan_arguments import (
    add_plan_arguments,
    plan_from_arguments,
)
from planning.management.planning_command import PlanningCommand
from planning.orders.order_sheets import suggested_sheets


class Command(PlanningCommand):
    tells_days = True
    help = gettext_noop(
        "Writes each suggested order as a spreadsheet, a CSV file and a message."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        add_plan_arguments(parser)
        parser.add_argument(
            "--out", required=True, metavar="DIR", help=_("the folder to write into")
        )

    def handle(self, **options: Any) -> None:
        planned = plan_from_arguments(options, self.stderr)
        sheets = suggested_sheets(planned)
        if not sheets:
            self.stdout.write(_("Nothing needs to be ordered; no file was written."))
            return
        for path in write_order_files(sheets, Path(options["out"])):
            self.stdout.write(str(path))
