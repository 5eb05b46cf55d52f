"""A backup's record: what was copied, when, and the checksum that proves it.

The record is written last, so that a copy cut short never has one.
"""

import hashlib
import json
import os
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.utils.translation import gettext as _

from stock.backups.errors import DamagedBackupError, NotABackupError

PREFIX = "kitchen-"
# In UTC, so that names sort by age even where clocks are set back.
MOMENT_FORMAT = "%Y-%m-%dT%H-%M-%SZ"
RECORD_ENDING = ".record.json"
PARTIAL_ENDING = ".partial"
CHUNK_BYTES = 1024 * 1024


@dataclass(frozen=True, slots=True)
class BackupRecord:
    """What a backup holds; kept beside it as JSON."""

    file: str
    sha256: str
    made_at: datetime  # aware
    database: str  # sqlite or postgresql
    migrations: tuple[str, ...]  # app.name of each that was applied
    rows: dict[str, int]  # by model
    newest_id: dict[str, int]  # by model whose ids are numbers
    last_moved_at: datetime | None

    def write(self, path: Path) -> None:
        """Write the record beside its backup, whole or not at all."""
        text = json.dumps(asdict(self), indent=1, default=datetime.isoformat)
        partial = path.with_name(f".{path.name}{PARTIAL_ENDING}")
        with partial.open("w", encoding="utf-8") as file:
            file.write(f"{text}\n")
            flush(file.fileno())
        partial.replace(path)
        flush_folder(path.parent)


def record_path(backup: Path) -> Path:
    """Return where the record of a backup is."""
    return backup.with_name(f"{backup.name}{RECORD_ENDING}")


def read_record(backup: Path) -> BackupRecord:
    """Return a backup's record; NotABackupError where there is none."""
    path = record_path(backup)
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
        moved_at = said["last_moved_at"]
        return BackupRecord(
            **said
            | {
                "made_at": datetime.fromisoformat(said["made_at"]),
                "migrations": tuple(said["migrations"]),
                "last_moved_at": datetime.fromisoformat(moved_at) if moved_at else None,
            }
        )
    except (OSError, ValueError, TypeError, KeyError, RecursionError) as error:
        raise NotABackupError(backup, path) from error


def check_sum(backup: Path, record: BackupRecord) -> None:
    """Refuse a backup whose bytes are not those that were written."""
    try:
        found = sha256_of(backup)
    except OSError as error:
        raise DamagedBackupError(backup, error.strerror or str(error)) from error
    if found != record.sha256:
        raise DamagedBackupError(backup, _("its checksum is not the one in its record"))


def sha256_of(path: Path) -> str:
    """Return the checksum of a file's bytes, as hexadecimal digits."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def name_for(made_at: datetime, ending: str) -> str:
    """Return the file name of a backup made at a moment."""
    return f"{PREFIX}{made_at.astimezone(UTC).strftime(MOMENT_FORMAT)}{ending}"


def finished(folder: Path) -> list[Path]:
    """Return the backups in a folder that have a record, the newest first."""
    return sorted(_finished(folder), key=lambda path: path.name, reverse=True)


def _finished(folder: Path) -> Iterator[Path]:
    for path in folder.glob(f"{PREFIX}*{RECORD_ENDING}"):
        backup = path.with_name(path.name.removesuffix(RECORD_ENDING))
        if backup.is_file():
            yield backup


def remove(backup: Path) -> None:
    """Remove a backup; its record goes first, so that half of one never counts."""
    record_path(backup).unlink(missing_ok=True)
    backup.unlink(missing_ok=True)


def flush(file_number: int) -> None:
    """See to it that what was written to a file is on the disk."""
    os.fsync(file_number)


def flush_path(path: Path) -> None:
    """See to it that a file that another program wrote is on the disk."""
    with path.open("rb") as file:
        flush(file.fileno())


def flush_folder(folder: Path) -> None:
    """See to it that a file's name is on the disk, where the system can do that."""
    if os.name != "posix":
        return
    number = os.open(folder, os.O_RDONLY)
    try:
        flush(number)
    finally:
        os.close(number)
