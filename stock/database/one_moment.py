"""Read many tables as they are at one moment, and hold nobody up who writes."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import DEFAULT_DB_ALIAS, connections, transaction


@contextmanager
def one_moment(*, using: str = DEFAULT_DB_ALIAS) -> Iterator[None]:
    """Let all that is read inside be as of one moment; nothing may be written.

    Within a transaction that has begun already its own rules hold.
    """
    connection: Any = connections[using]  # the mode is SQLite's own
    if connection.in_atomic_block:
        yield
    elif connection.vendor == "postgresql":
        with transaction.atomic(using=using):
            with connection.cursor() as cursor:
                cursor.execute(
                    "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY"
                )
            yield
    else:
        # Transactions are opened to write, which waits for others; this one is not.
        connection.ensure_connection()
        usual_mode = connection.transaction_mode
        connection.transaction_mode = "DEFERRED"
        try:
            with transaction.atomic(using=using):
                connection.transaction_mode = usual_mode
                yield
        finally:
            connection.transaction_mode = usual_mode
