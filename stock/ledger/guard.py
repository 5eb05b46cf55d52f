"""The triggers that keep the ledger append-only, on SQLite and on PostgreSQL.

A change of a table's shape on SQLite makes the table anew, and its triggers go with
the old one: a migration that alters movements ends with `install`. `verify_ledger`
says when a trigger is not there.
"""

from django.db.backends.base.base import BaseDatabaseWrapper

TABLE = "stock_movement"
REFUSAL = (
    "The ledger is never changed and nothing is taken out of it: "
    "correct a movement by another one."
)
POSTGRESQL_FUNCTION = "stock_movement_refuse_change"
TRIGGERS_BY_VENDOR = {
    "sqlite": {
        "stock_movement_no_update": "BEFORE UPDATE ON {table}",
        "stock_movement_no_delete": "BEFORE DELETE ON {table}",
    },
    "postgresql": {
        "stock_movement_no_update": "BEFORE UPDATE ON {table} FOR EACH ROW",
        "stock_movement_no_delete": "BEFORE DELETE ON {table} FOR EACH ROW",
        "stock_movement_no_truncate": "BEFORE TRUNCATE ON {table} FOR EACH STATEMENT",
    },
}
# Both databases report these refusals as an IntegrityError.
BODY_BY_VENDOR = {
    "sqlite": f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END",
    "postgresql": f"EXECUTE FUNCTION {POSTGRESQL_FUNCTION}()",
}
CREATE_POSTGRESQL_FUNCTION = f"""
    CREATE OR REPLACE FUNCTION {POSTGRESQL_FUNCTION}() RETURNS trigger
    LANGUAGE plpgsql AS $refuse$
    BEGIN
        RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'restrict_violation';
    END
    $refuse$
"""
# Only triggers that are switched on count; those of other schemas do not.
PRESENT_SQL_BY_VENDOR = {
    "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s",
    "postgresql": (
        "SELECT tgname FROM pg_trigger "
        "WHERE tgrelid = to_regclass(%s) AND tgenabled IN ('O', 'A')"
    ),
}


def install(connection: BaseDatabaseWrapper) -> None:
    """Create the triggers that are not there."""
    missing = missing_triggers(connection)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(CREATE_POSTGRESQL_FUNCTION)
        for name in missing:
            event = TRIGGERS_BY_VENDOR[connection.vendor][name].format(table=TABLE)
            body = BODY_BY_VENDOR[connection.vendor]
            cursor.execute(f"DROP TRIGGER IF EXISTS {_dropped(name, connection)}")
            cursor.execute(f"CREATE TRIGGER {name} {event} {body}")


def remove(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away, as undoing their migration does."""
    with connection.cursor() as cursor:
        for name in TRIGGERS_BY_VENDOR[connection.vendor]:
            cursor.execute(f"DROP TRIGGER IF EXISTS {_dropped(name, connection)}")
        if connection.vendor == "postgresql":
            cursor.execute(f"DROP FUNCTION IF EXISTS {POSTGRESQL_FUNCTION}()")


def missing_triggers(connection: BaseDatabaseWrapper) -> list[str]:
    """Return the names of the triggers that should be there and are not."""
    with connection.cursor() as cursor:
        cursor.execute(PRESENT_SQL_BY_VENDOR[connection.vendor], [TABLE])
        present = {name for (name,) in cursor.fetchall()}
    return sorted(TRIGGERS_BY_VENDOR[connection.vendor].keys() - present)


def _dropped(name: str, connection: BaseDatabaseWrapper) -> str:
    return f"{name} ON {TABLE}" if connection.vendor == "postgresql" else name
