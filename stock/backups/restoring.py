"""Bring a backup back, into an empty place only."""

import shutil
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections
from django.db.migrations.loader import MigrationLoader
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.backups import postgresql, records, sqlite
from stock.backups.contents import foreign_tables, is_set_up, read_contents
from stock.backups.errors import (
    DamagedBackupError,
    NewerProgramError,
    NotBroughtUpToDateError,
    OtherDatabaseError,
    PlaceTakenError,
)
from stock.backups.newer import newer_words
from stock.backups.records import BackupRecord
from stock.ledger import verifying

NAMES = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}
UNREADABLE = gettext_lazy("What is there cannot be read.")
NOT_OURS = gettext_lazy("It holds tables that aren't a kitchen's.")
SET_ASIDE = "-set-aside-%Y-%m-%dT%H-%M-%SZ"


@dataclass(frozen=True, slots=True)
class Restored:
    """What was brought back, and where the kitchen that was there is now."""

    record: BackupRecord
    movements: int
    newer: str  # what the backup lacks of what was set aside; "" where nothing was
    set_aside: Path | None


def restore_backup(backup: Path, *, at: datetime, set_aside: bool = False) -> Restored:
    """Bring a backup back into the empty place that the settings name.

    The file is checked against its record; what it holds is brought up to date where
    an older version of the program has made it, everybody is signed out, and its
    ledger is proved whole. What fails leaves the place as it was. With `set_aside` an
    embedded database that is there already is renamed, with all that it holds.
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
    newer = _newer_there(record)
    if vendor == "postgresql":
        return Restored(record, _restore_postgresql(backup, newer), "", None)
    aside = _aside(at)
    movements = _restore_sqlite(backup, aside, newer, set_aside=set_aside)
    return Restored(record, movements, newer, aside if newer else None)


def _newer_there(record: BackupRecord) -> str:
    """Return what the backup lacks of what stands in its place; "" if that is empty."""
    if connections[DEFAULT_DB_ALIAS].vendor == "sqlite":
        path = sqlite.database_path()
        if not path.exists() or not path.stat().st_size:
            return ""
    try:
        if foreign_tables() and not is_set_up():
            return str(NOT_OURS)
        if not is_set_up():
            return ""
        there = read_contents()
        if there.is_empty:
            return str(NOT_OURS if foreign_tables() else "")
    except DatabaseError:
        return str(UNREADABLE)
    return newer_words(there, record)


def _aside(at: datetime) -> Path:
    path = sqlite.database_path()
    return path.with_name(f"{path.stem}{at.strftime(SET_ASIDE)}{path.suffix}")


def _restore_sqlite(backup: Path, aside: Path, newer: str, *, set_aside: bool) -> int:
    """Make the kitchen ready beside its place, then move it there; return movements."""
    path = sqlite.database_path()
    if newer and not set_aside:
        raise PlaceTakenError(
            newer,
            _(
                "To keep it as {name} and restore all the same, stop the site and "
                "add --set-aside."
            ).format(name=aside.name),
        )
    copied = path.with_name(f".{path.name}{records.PARTIAL_ENDING}")
    try:
        shutil.copyfile(backup, copied)
        sqlite.check_integrity(copied)
        with sqlite.instead_of_the_kitchen(copied):
            movements = _make_ready(backup)
        records.flush_path(copied)
        if path.exists():
            sqlite.set_aside(path, aside)
        sqlite.put_in_place(copied, path)
    finally:
        sqlite.remove(copied)
    records.flush_folder(path.parent)
    if not newer and aside.exists():
        aside.unlink()  # it was set up, and nobody had entered anything
    return movements


def _restore_postgresql(backup: Path, newer: str) -> int:
    if newer:
        raise PlaceTakenError(
            newer,
            _("Create an empty database, set DATABASE_URL to it, and restore there."),
        )
    postgresql.check_readable(backup)
    with postgresql.emptied_if_it_fails():
        postgresql.restore(backup)
        return _make_ready(backup)


def _make_ready(backup: Path) -> int:
    """Bring up to date what was copied, and sign everybody out; return movements."""
    try:
        call_command("migrate", verbosity=0)
    except Exception as error:  # a migration may raise anything
        raise NotBroughtUpToDateError(backup, str(error)) from error
    Session.objects.all().delete()  # whoever had signed out since stays out
    verdict = verifying.verify_ledger()
    if not verdict.is_whole:
        raise DamagedBackupError(backup, _("its ledger is not whole"))
    return verdict.movements


def _known_migrations() -> set[str]:
    on_disk = MigrationLoader(None).disk_migrations or {}
    return {f"{app}.{name}" for app, name in on_disk}
