"""Why nothing could be saved, and whether anything can be: for pages and commands.

Nothing was stored in each of these cases, but where the database went away, perhaps in
the moment of storing; the same thing sent again is as good as the first.
"""

import os
from dataclasses import dataclass
from typing import Any

from django.db import Error, connection


@dataclass(frozen=True, slots=True)
class Unsaved:
    """A reason why the database did not save, in words, and when to try again."""

    title: str
    sentence: str
    retry_after_s: int


BUSY = Unsaved(
    "Not saved yet",
    "Somebody else is saving a lot just now, so this was not saved yet. "
    "Try again in a moment.",
    5,
)
DISK_FULL = Unsaved(
    "The disk is full",
    "The disk that holds the kitchen's data is full, so nothing was saved. Free some "
    "space on it, then try again.",
    60,
)
DISK_FAILED = Unsaved(
    "The disk failed",
    "The disk that holds the kitchen's data did not take this, so nothing was saved. "
    "See that it has free space and works, then try again.",
    60,
)
READ_ONLY = Unsaved(
    "Nothing can be saved",
    "The kitchen's data is read-only just now, so nothing was saved. Let its disk and "
    "its file be written to, then try again.",
    60,
)
AWAY = Unsaved(
    "The database is away",
    "The database doesn't answer just now, so this may not be saved. "
    "Look again in a moment.",
    5,
)
SHUT = Unsaved(
    "The data can't be opened",
    "The kitchen's data can't be opened, so nothing was saved. See that its folder is "
    "there and may be read and written, then try again.",
    60,
)
# As SQLite says it, always in English. One line a reason, first match wins.
SQLITE_WORDS = {
    "database is locked": BUSY,
    "database table is locked": BUSY,
    "database or disk is full": DISK_FULL,
    "disk I/O error": DISK_FAILED,
    "attempt to write a readonly database": READ_ONLY,
    "unable to open database file": SHUT,
}
# As PostgreSQL numbers it, whatever language it speaks; a class by its first two signs.
SQLSTATES = {
    "55P03": BUSY,  # waited for a lock in vain
    "40P01": BUSY,  # deadlock
    "40001": BUSY,  # could not be put in an order
    "53100": DISK_FULL,
    "25006": READ_ONLY,
    "57P": AWAY,  # shut down, crashed, or starting up
    "53": AWAY,  # out of connections or memory
    "08": AWAY,  # the connection broke
    "58": DISK_FAILED,
}
READ_ONLY_PARAMETERS = ("default_transaction_read_only", "in_hot_standby")


def why_unsaved(error: BaseException | None) -> Unsaved | None:
    """Return why the database did not save; None where it is something else."""
    if not isinstance(error, Error):
        return None
    cause: Any = error.__cause__
    if hasattr(cause, "sqlstate"):
        return _postgresql_reason(cause)
    said = str(error)
    return next((why for words, why in SQLITE_WORDS.items() if words in said), None)


def _postgresql_reason(cause: Any) -> Unsaved | None:
    if cause.sqlstate is None:
        # Not the server but the driver says so: it cannot reach it, or no longer.
        names = {kind.__name__ for kind in type(cause).__mro__}
        return AWAY if names & {"OperationalError", "InterfaceError"} else None
    matches = (SQLSTATES.get(cause.sqlstate[:length]) for length in (5, 3, 2))
    return next((why for why in matches if why), None)


def can_save() -> bool:
    """Whether the kitchen's data may be written, as far as that shows without trying.

    No query: of a file the system is asked, of a server what it said when it was
    reached.
    """
    if connection.vendor == "sqlite":
        name = str(connection.settings_dict["NAME"])
        places = (name, os.path.dirname(name) or ".")
        return not os.path.exists(name) or all(os.access(at, os.W_OK) for at in places)
    connection.ensure_connection()
    driver: Any = connection.connection
    said = (driver.info.parameter_status(name) for name in READ_ONLY_PARAMETERS)
    return "on" not in said
