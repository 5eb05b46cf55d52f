"""A PostgreSQL database: dumped and restored by PostgreSQL's own programs."""

import os
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections, transaction

from stock.backups.errors import (
    DamagedBackupError,
    ProgramFailedError,
    ProgramMissingError,
)
from stock.ledger import guard

ENDING = ".pgdump"


@contextmanager
def one_moment() -> Iterator[str]:
    """Hold the database as it is at one moment; yield the name of that snapshot.

    What is read on this connection meanwhile, and what is dumped with the snapshot's
    name, are the same, whoever writes.
    """
    connection = connections[DEFAULT_DB_ALIAS]
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        yield cursor.fetchone()[0]


def dump(target: Path, snapshot: str) -> None:
    """Write the database of a snapshot into a file of PostgreSQL's own format."""
    _run(
        "pg_dump",
        ["--format=custom", f"--snapshot={snapshot}", f"--file={target}"],
    )


def check_readable(path: Path) -> None:
    """Refuse a dump that cannot be read to its end."""
    program = _program("pg_restore")
    found = subprocess.run(  # noqa: S603 (PostgreSQL's own program, a path of ours)
        [program, f"--file={os.devnull}", str(path)],
        capture_output=True,
        text=True,
        check=False,
    )
    if found.returncode:
        raise DamagedBackupError(path, " ".join(found.stderr.split()))


def restore(path: Path) -> None:
    """Fill the empty database from a dump, all of it or nothing."""
    connections[DEFAULT_DB_ALIAS].close()
    _run(
        "pg_restore",
        [
            "--single-transaction",
            "--exit-on-error",
            "--clean",  # a database that is set up and empty has tables already
            "--if-exists",
            "--no-owner",
            "--no-privileges",
            f"--dbname={_settings()['NAME']}",
            str(path),
        ],
        names_database=False,
    )


@contextmanager
def emptied_if_it_fails() -> Iterator[None]:
    """Put an empty database back as it was if what is done meanwhile fails.

    Empty is a database without tables, or one that is set up and holds no rows.
    """
    with TemporaryDirectory() as folder:
        before = Path(folder) / f"before{ENDING}"
        is_set_up = bool(connections[DEFAULT_DB_ALIAS].introspection.table_names())
        if is_set_up:
            _run("pg_dump", ["--format=custom", f"--file={before}"])
        try:
            yield
        except BaseException:
            _drop_tables()
            if is_set_up:
                restore(before)
            raise


def _drop_tables() -> None:
    connection = connections[DEFAULT_DB_ALIAS]
    connection.close()
    quote = connection.ops.quote_name
    with transaction.atomic(), connection.cursor() as cursor:
        for table in connection.introspection.table_names():
            cursor.execute(f"DROP TABLE {quote(table)} CASCADE")
        cursor.execute(f"DROP FUNCTION IF EXISTS {guard.POSTGRESQL_FUNCTION}()")


def _run(name: str, arguments: Sequence[str], *, names_database: bool = True) -> None:
    database = [str(_settings()["NAME"])] if names_database else []
    found = subprocess.run(  # noqa: S603 (PostgreSQL's own program)
        [_program(name), *arguments, *database],
        env={**os.environ, **_connection_variables()},
        capture_output=True,
        text=True,
        check=False,
    )
    if found.returncode:
        raise ProgramFailedError(name, found.stderr)


def _program(name: str) -> str:
    path = shutil.which(name)
    if path is None:
        raise ProgramMissingError(name)
    return path


def _connection_variables() -> dict[str, str]:
    """Return how to reach the database; a password never stands in a command line."""
    settings = _settings()
    variables = {
        "PGHOST": settings["HOST"],
        "PGPORT": settings["PORT"],
        "PGUSER": settings["USER"],
        "PGPASSWORD": settings["PASSWORD"],
        "PGSSLMODE": settings.get("OPTIONS", {}).get("sslmode"),
    }
    return {name: str(value) for name, value in variables.items() if value}


def _settings() -> dict[str, Any]:
    return connections[DEFAULT_DB_ALIAS].settings_dict
