"""`manage.py backup`: the whole database into a folder, verified before it counts."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone

from stock.backups.errors import BackupError
from stock.backups.making import make_backup
from stock.backups.newer import counted
from stock.management.plain_command import PlainCommand


class KeepError(BackupError):
    """A number of backups to keep that would keep none."""

    def __init__(self, keep: int) -> None:
        super().__init__(f"--keep: {keep} would keep no backup. Write 1 or more.")


class Command(PlainCommand):
    help = (
        "Copies the whole database into a folder while everybody goes on working. The "
        "copy counts once it was opened, its ledger proved whole and its checksum "
        "written beside it."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("folder", metavar="DIR", help="where backups go")
        parser.add_argument(
            "--keep",
            type=int,
            metavar="N",
            help="remove all but the newest N backups there; default: keep all",
        )

    def handle(self, *, folder: str, keep: int | None, **_options: Any) -> None:
        if keep is not None and keep < 1:
            raise KeepError(keep)
        made = make_backup(Path(folder), at=timezone.now(), keep=keep)
        movements = counted(made.record.rows["stock.Movement"], "movement")
        self.stdout.write(
            f"Backup: {made.path}, ledger whole ({movements}), "
            f"{made.path.stat().st_size:,} bytes."
        )
        if made.removed:
            self.stdout.write(f"Removed: {counted(made.removed, 'older backup')}.")
