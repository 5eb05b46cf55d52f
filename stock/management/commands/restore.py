"""`manage.py restore`: a backup back into an empty place."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.backups.newer import counted
from stock.backups.restoring import restore_backup
from stock.management.plain_command import PlainCommand


class Command(PlainCommand):
    help = gettext_noop(
        "Brings a backup back into the database that DATABASE_URL names, if that is "
        "empty; else says what it holds that the backup lacks. Verifies file and "
        "ledger, and leaves the place as it was if either fails."
    )
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file", metavar="FILE", help=_("a file `backup` has written")
        )
        parser.add_argument(
            "--set-aside",
            action="store_true",
            help=_("SQLite: first rename the database that is there"),
        )

    def handle(self, *, file: str, set_aside: bool, **_options: Any) -> None:
        restored = restore_backup(Path(file), at=timezone.now(), set_aside=set_aside)
        if restored.set_aside:
            self.stdout.write(
                _("Set aside: {set_aside}. {newer}").format(
                    set_aside=restored.set_aside, newer=restored.newer
                )
            )
        self.stdout.write(
            _(
                "Restored: the kitchen as of {made_at:%Y-%m-%d %H:%M} UTC, ledger "
                "whole ({counted})."
            ).format(
                made_at=restored.record.made_at,
                counted=counted(restored.movements, _("movement")),
            )
        )
        self.stdout.write(_("Everybody is signed out, and signs in anew."))
