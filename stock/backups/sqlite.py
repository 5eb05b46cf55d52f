"""An embedded database: copied while in use, opened as a copy, set aside, put in place.

A plain copy of the file while somebody writes misses what still lies in its journal;
the database's own backup does not.
"""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS, connections

from stock.backups.errors import (
    DamagedBackupError,
    FolderError,
    InUseError,
    NotCopiedError,
    NotSetAsideError,
)
from stock.database.sqlite import address

ENDING = ".sqlite3"
COPY_ALIAS = "backup_copy"
PRIMARY_CODE = 0xFF  # of an extended result code, as SQLite composes them
BESIDE = ("-wal", "-shm", "-journal")  # what the database keeps beside its file


def database_path() -> Path:
    """Return the file of the database that the settings name."""
    return Path(connections[DEFAULT_DB_ALIAS].settings_dict["NAME"])


def copy(source: Path, target: Path) -> None:
    """Copy a database as it is at one moment, whoever writes meanwhile.

    The copy is one file that needs no journal beside it.
    """
    try:
        _copy(source, target)
    except sqlite3.OperationalError as error:
        if _is_held(error):
            raise NotCopiedError(str(error)) from error
        raise FolderError(target.parent, str(error)) from error


def _copy(source: Path, target: Path) -> None:
    with (
        closing(
            sqlite3.connect(address(source), uri=True, timeout=settings.WAIT_SECONDS)
        ) as database,
        closing(sqlite3.connect(target)) as backup,
    ):
        database.backup(backup)
        backup.execute("PRAGMA journal_mode = DELETE")


def check_integrity(path: Path) -> None:
    """Refuse a file that is not a sound database."""
    try:
        with closing(
            sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
        ) as database:
            [(verdict,), *_] = database.execute("PRAGMA integrity_check")
    except sqlite3.DatabaseError as error:
        raise DamagedBackupError(path, str(error)) from error
    if verdict != "ok":
        raise DamagedBackupError(path, str(verdict))


@contextmanager
def opened(path: Path) -> Iterator[str]:
    """Open a copy beside the kitchen's own database; yield the name to use it by."""
    copy = connections[DEFAULT_DB_ALIAS].copy(alias=COPY_ALIAS)
    copy.settings_dict["NAME"] = str(path)
    # Nothing is written, and no journal is left beside the copy.
    copy.settings_dict["OPTIONS"] = {
        "timeout": settings.WAIT_SECONDS,
        "init_command": "PRAGMA query_only = ON",
    }
    connections[COPY_ALIAS] = copy
    try:
        yield COPY_ALIAS
    finally:
        copy.close()
        del connections[COPY_ALIAS]


@contextmanager
def instead_of_the_kitchen(path: Path) -> Iterator[None]:
    """Let every change and read of the kitchen go to a copy meanwhile.

    Migrations that fill tables do so on the kitchen's own connection.
    """
    kitchen = connections[DEFAULT_DB_ALIAS]
    name = kitchen.settings_dict["NAME"]
    kitchen.close()
    kitchen.settings_dict["NAME"] = str(path)
    try:
        yield
    finally:
        kitchen.close()  # which puts its journal into the copy
        kitchen.settings_dict["NAME"] = name


def set_aside(path: Path, name: Path) -> None:
    """Rename a database with all that its journal holds; refuse if it is open.

    Where it cannot be opened or written for another reason, the refusal says that.
    """
    connections[DEFAULT_DB_ALIAS].close()
    try:
        # Leaving the journal takes the whole database to itself, and empties it.
        with closing(sqlite3.connect(path, timeout=0)) as database:
            database.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.OperationalError as error:
        if _is_held(error):
            raise InUseError(path.name) from error
        raise NotSetAsideError(path.name, str(error)) from error
    except sqlite3.DatabaseError:
        pass  # no database any more: whatever it is, it is kept as it is
    path.rename(name)


def _is_held(error: sqlite3.OperationalError) -> bool:
    """Whether somebody else has the database, or a table of it, to themselves."""
    code = error.sqlite_errorcode & PRIMARY_CODE
    return code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def put_in_place(copied: Path, path: Path) -> None:
    """Move a finished copy to where the kitchen is; nothing of the old one stays."""
    connections[DEFAULT_DB_ALIAS].close()
    _remove_beside(path)
    copied.replace(path)


def remove(path: Path) -> None:
    """Remove a database and all that stands beside it, if it is there."""
    path.unlink(missing_ok=True)
    _remove_beside(path)


def _remove_beside(path: Path) -> None:
    for ending in BESIDE:
        path.with_name(f"{path.name}{ending}").unlink(missing_ok=True)
