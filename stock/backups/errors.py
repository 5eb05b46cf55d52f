"""What can go wrong with a backup, each with the way out."""

from pathlib import Path

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.errors import StockError

EARLIER_STAY = gettext_lazy("Earlier backups are as they were.")


class BackupError(StockError):
    """A backup that could not be made, or that cannot be used."""


class FolderError(BackupError):
    """Nothing can be written where the backup should go."""

    def __init__(self, folder: Path, reason: str) -> None:
        super().__init__(
            _(
                "{folder}: nothing can be written there ({reason}). Name a folder "
                "with free space that you may write to. {earlier_stay}"
            ).format(folder=folder, reason=reason, earlier_stay=EARLIER_STAY)
        )
        self.folder = folder


class NotCopiedError(BackupError):
    """The database itself would not be read to its end."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            _(
                "The database could not be copied ({reason}). Try again in a "
                "moment. {earlier_stay}"
            ).format(reason=reason, earlier_stay=EARLIER_STAY)
        )


class NotABackupError(BackupError):
    """A file without its record, or whose record cannot be read."""

    def __init__(self, path: Path, record: Path) -> None:
        super().__init__(
            _(
                "{path} isn't a finished backup: {name} is missing beside it or "
                "cannot be read. Name a file that `backup` has written, with its "
                "record."
            ).format(path=path, name=record.name)
        )
        self.path = path


class DamagedBackupError(BackupError):
    """What is in the file is not what was written."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(
            _("{path} is damaged: {reason}. Use an earlier backup.").format(
                path=path, reason=reason
            )
        )
        self.path = path


class ProgramMissingError(BackupError):
    """PostgreSQL's own programs do the copying, and they are not installed."""

    def __init__(self, program: str) -> None:
        super().__init__(
            _(
                "{program} isn't installed here. Install PostgreSQL's client "
                "programs (on Debian: apt-get install postgresql-client)."
            ).format(program=program)
        )
        self.program = program


class ProgramFailedError(BackupError):
    """A program said why it did not do what it was asked."""

    def __init__(self, program: str, said: str) -> None:
        remark = f" {EARLIER_STAY}" if program == "pg_dump" else ""
        super().__init__(
            _("{program} stopped: {split}.{remark}").format(
                program=program, split=" ".join(said.split()), remark=remark
            )
        )
        self.program = program
        self.said = said


class LedgerNotWholeError(BackupError):
    """The copy holds a ledger that does not add up."""

    def __init__(self, said: str) -> None:
        super().__init__(
            _("The copy was not kept, because its ledger is not whole. {said}").format(
                said=said
            )
        )


class OtherDatabaseError(BackupError):
    """A backup of one kind of database, and a place of the other kind."""

    def __init__(self, path: Path, *, backup: str, place: str) -> None:
        super().__init__(
            _(
                "{path} is a backup of {backup}, and DATABASE_URL names {place}. "
                "Set DATABASE_URL to an empty {backup} database."
            ).format(path=path, backup=backup, place=place)
        )


class NewerProgramError(BackupError):
    """A backup that a later version of the program has made."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            _(
                "{path} was made by a newer version of this program. Update the "
                "program first, then restore."
            ).format(path=path)
        )


class NotBroughtUpToDateError(BackupError):
    """A backup of an older version of the program that this one cannot take over."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(
            _(
                "{path} could not be brought up to date ({split}), so nothing was "
                "restored. Restore it with the version of the program that made "
                "it, or use another backup."
            ).format(path=path, split=" ".join(reason.split()))
        )
        self.path = path


class PlaceTakenError(BackupError):
    """There is something already where the backup should go."""

    def __init__(self, newer: str, remedy: str) -> None:
        super().__init__(
            _(
                "This place isn't empty, so nothing was restored. {newer} {remedy}"
            ).format(newer=newer, remedy=remedy)
        )
        self.newer = newer


class InUseError(BackupError):
    """Somebody has the database open that should be set aside."""

    def __init__(self, name: str) -> None:
        super().__init__(
            _(
                "{name} is in use. Stop the site and every command, then try again."
            ).format(name=name)
        )


class NotSetAsideError(BackupError):
    """The database that should be set aside cannot be opened or written."""

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(
            _(
                "{name} could not be set aside ({reason}), so nothing was "
                "restored. Let the file and its folder be read and written, then "
                "try again."
            ).format(name=name, reason=reason)
        )
