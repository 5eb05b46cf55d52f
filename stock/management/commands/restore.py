"""`manage.py restore`: a backup back into an empty place."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone

from stock.backups.newer import counted
from stock.backups.restoring import restore_backup
from stock.management.plain_command import PlainCommand


class Command(PlainCommand):
    help = (
        "Brings a backup back into the database that DATABASE_URL names, if that is "
        "empty; else says what it holds that the backup lacks. Verifies file and "
        "ledger, and leaves the place as it was if either fails."
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", metavar="FILE", help="a file `backup` has written")
        parser.add_argument(
            "--set-aside",
            action="store_true",
            help="SQLite: first rename the database that is there",
        )

    def handle(self, *, file: str, set_aside: bool, **_options: Any) -> None:
        restored = restore_backup(Path(file), at=timezone.now(), set_aside=set_aside)
        if restored.set_aside:
            self.stdout.write(f"Set aside: {restored.set_aside}. {restored.newer}")
        self.stdout.write(
            f"Restored: the kitchen as of {restored.record.made_at:%Y-%m-%d %H:%M} "
            f"UTC, ledger whole ({counted(restored.movements, 'movement')})."
        )
        self.stdout.write("Everybody is signed out, and signs in anew.")
