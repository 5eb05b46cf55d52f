"""`manage.py backup`: the whole database into a folder, verified before it counts."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from stock.backups.errors import BackupError
from stock.backups.making import make_backup
from stock.backups.newer import counted
from stock.management.plain_command import PlainCommand


class KeepError(BackupError):
    """A number of backups to keep that would keep none."""

    def __init__(self, keep: int) -> None:
        super().__init__(
            _("--keep: {keep} would keep no backup. Write 1 or more.").format(keep=keep)
        )


class Command(PlainCommand):
    help = gettext_noop(
        "Copies the whole database into a folder while everybody goes on working. The "
        "copy counts once it was opened, its ledger proved whole and its checksum "
        "written beside it."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", metavar="DIR", help=_("where backups go"))
        parser.add_argument(
            "--keep",
            type=int,
            metavar="N",
            help=_("remove all but the newest N backups there; default: keep all"),
        )

    def handle(self, *, folder: str, keep: int | None, **_options: Any) -> None:
        if keep is not None and keep < 1:
            raise KeepError(keep)
        made = make_backup(Path(folder), at=timezone.now(), keep=keep)
        movements = counted(made.record.rows["stock.Movement"], "movement")
        self.stdout.write(
            _("Backup: {path}, ledger whole ({movements}), {st_size:,} bytes.").format(
                path=made.path, movements=movements, st_size=made.path.stat().st_size
            )
        )
        if made.removed:
            self.stdout.write(
                _("Removed: {what}.").format(
                    what=counted(made.removed, _("older backup"))
                )
            )
