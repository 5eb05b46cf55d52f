"""`manage.py dump_kitchen`: a whole kitchen out, as a workbook or CSV files."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from planning.interchange.dumping import dump_kitchen
from planning.interchange.taking_out import NOT_HELD
from planning.management.planning_command import PlanningCommand


class Command(PlanningCommand):
    help = "Writes everything that is stored into a workbook, or CSV files in a folder."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "path", metavar="PATH", help="the workbook (.xlsx), or with --csv a folder"
        )
        parser.add_argument("--csv", action="store_true", help="a CSV file each sheet")
        parser.add_argument(
            "--force", action="store_true", help="replace what already exists"
        )

    def handle(self, **options: Any) -> None:
        path = Path(options["path"])
        kitchen = dump_kitchen(
            "csv" if options["csv"] else "xlsx", path, force=options["force"]
        )
        for sentence in kitchen.left_out:
            self.stdout.write(sentence)
        rows = "1 row" if kitchen.rows == 1 else f"{kitchen.rows} rows"
        self.stdout.write(f"The kitchen is in {path}: {rows}.")
        self.stdout.write(NOT_HELD)
