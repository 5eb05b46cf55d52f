"""Bring a backup back, into an empty place only."""

import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Literal

from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections
from django.db.migrations.loader import MigrationLoader

from stock import verifying
from stock.backups import postgresql, records, sqlite
from stock.backups.contents import Contents, is_set_up, read_contents
from stock.backups.errors import (
    DamagedBackupError,
    NewerProgramError,
    OtherDatabaseError,
    PlaceTakenError,
)
from stock.backups.newer import newer_words
from stock.backups.records import Record

NAMES = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}
UNREADABLE = "What is there cannot be read."
SET_ASIDE = "-set-aside-%Y-%m-%dT%H-%M-%SZ"


@dataclass(frozen=True, slots=True)
class Restored:
    """What was brought back, and where the kitchen that was there is now."""

    record: Record
    movements: int
    newer: str  # what the backup lacks of what was set aside; "" where nothing was
    set_aside: Path | None


def restore_backup(backup: Path, *, at: datetime, set_aside: bool = False) -> Restored:
    """Bring a backup back into the empty place that the settings name.

    The file is checked against its record and its ledger proved whole before anything
    is moved; what fails there leaves the place as it was. In its place, a backup of an
    older version of the program is brought up to date. With `set_aside` an embedded
    database that is there already is renamed, with all that it holds.
    """
    record = records.read_record(backup)
    records.check_sum(backup, record)
    vendor = connections[DEFAULT_DB_ALIAS].vendor
    if record.database != vendor:
        raise OtherDatabaseError(
            backup,
            backup=NAMES.get(record.database, record.database),
            place=NAMES[vendor],
        )
    if not _known_migrations().issuperset(record.migrations):
        raise NewerProgramError(backup)
    there = _what_is_there()
    newer = "" if there is None else newer_words(there, record) if there else UNREADABLE
    if vendor == "sqlite":
        moved_to = _restore_sqlite(backup, at, newer, set_aside=set_aside)
    else:
        moved_to = None
        _restore_postgresql(backup, newer)
    call_command("migrate", verbosity=0)
    Session.objects.all().delete()  # whoever had signed out since stays out
    verdict = verifying.verify_ledger()
    if not verdict.is_whole:
        raise DamagedBackupError(backup, "its ledger is not whole")
    return Restored(record, verdict.movements, newer if moved_to else "", moved_to)


def _what_is_there() -> Contents | Literal[False] | None:
    """Return what the place holds; None where it is empty, False if nobody can tell."""
    if connections[DEFAULT_DB_ALIAS].vendor == "sqlite":
        path = sqlite.database_path()
        if not path.exists() or not path.stat().st_size:
            return None
    try:
        if not is_set_up():
            return None
        contents = read_contents()
    except DatabaseError:
        return False
    return None if contents.is_empty else contents


def _restore_sqlite(
    backup: Path, at: datetime, newer: str, *, set_aside: bool
) -> Path | None:
    path = sqlite.database_path()
    aside = path.with_name(f"{path.stem}{at.strftime(SET_ASIDE)}{path.suffix}")
    if newer and not set_aside:
        raise PlaceTakenError(
            newer,
            f"To keep it as {aside.name} and restore all the same, stop the site and "
            "add --set-aside.",
        )
    copied = path.with_name(f".{path.name}{records.PARTIAL_ENDING}")
    try:
        shutil.copyfile(backup, copied)
        sqlite.check_integrity(copied)
        with sqlite.opened(copied) as copy:
            if not verifying.verify_ledger(using=copy).is_whole:
                raise DamagedBackupError(backup, "its ledger is not whole")
        records.flush_path(copied)
        if path.exists():
            sqlite.set_aside(path, aside)
        sqlite.put_in_place(copied, path)
    finally:
        copied.unlink(missing_ok=True)
    records.flush_folder(path.parent)
    if not newer and aside.exists():
        aside.unlink()  # it was set up, and nobody had entered anything
    return aside if newer else None


def _restore_postgresql(backup: Path, newer: str) -> None:
    if newer:
        raise PlaceTakenError(
            newer,
            "Create an empty database, set DATABASE_URL to it, and restore there.",
        )
    postgresql.check_readable(backup)
    postgresql.restore(backup)


def _known_migrations() -> set[str]:
    on_disk = MigrationLoader(None).disk_migrations or {}
    return {f"{app}.{name}" for app, name in on_disk}
