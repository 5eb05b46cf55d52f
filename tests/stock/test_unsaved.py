"""Why the database did not save, told from the errors that both databases raise."""

import psycopg
import pytest
from django.db import DatabaseError, InterfaceError, InternalError, OperationalError
from psycopg import errors

from stock.database import unsaved
from stock.database.unsaved import why_unsaved


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("database is locked", unsaved.BUSY),
        ("database or disk is full", unsaved.DISK_FULL),
        ("disk I/O error", unsaved.DISK_FAILED),
        ("attempt to write a readonly database", unsaved.READ_ONLY),
        ("unable to open database file", unsaved.SHUT),
        ("no such table: stock_item", None),
    ],
)
def test_what_sqlite_says(said, why):
    assert why_unsaved(OperationalError(said)) is why
    assert why_unsaved(RuntimeError(said)) is None


@pytest.mark.parametrize(
    ("raised", "cause", "why"),
    [
        (OperationalError, errors.LockNotAvailable, unsaved.BUSY),
        (OperationalError, errors.DeadlockDetected, unsaved.BUSY),
        (OperationalError, errors.DiskFull, unsaved.DISK_FULL),
        (OperationalError, errors.IoError, unsaved.DISK_FAILED),
        (InternalError, errors.ReadOnlySqlTransaction, unsaved.READ_ONLY),
        (OperationalError, errors.AdminShutdown, unsaved.AWAY),
        (OperationalError, errors.CannotConnectNow, unsaved.AWAY),
        (OperationalError, errors.TooManyConnections, unsaved.AWAY),
        (OperationalError, psycopg.OperationalError, unsaved.AWAY),
        (InterfaceError, psycopg.InterfaceError, unsaved.AWAY),
        (DatabaseError, psycopg.DataError, None),
        (DatabaseError, errors.UndefinedTable, None),
        (DatabaseError, errors.UniqueViolation, None),
    ],
)
def test_what_postgresql_numbers_in_any_language(raised, cause, why):
    error = raised("auf gut Deutsch")
    error.__cause__ = cause("auf gut Deutsch")

    assert why_unsaved(error) is why
