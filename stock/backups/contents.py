"""What a database holds, in figures: for a backup's record, and to compare with one."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.apps import apps
from django.db import DEFAULT_DB_ALIAS, connections, models
from django.db.migrations.recorder import MigrationRecorder
from django.db.models import Max

from stock.models import Movement

# Sessions and wrong passwords come and go; types and permissions are Django's own.
PASSING_APPS = frozenset({"axes", "sessions", "contenttypes"})
PASSING_MODELS = frozenset({"auth.Permission"})


@dataclass(frozen=True, slots=True)
class Contents:
    """How many rows there are, how far their ids go, and when stock last moved."""

    migrations: tuple[str, ...]
    rows: dict[str, int]
    newest_id: dict[str, int]
    last_moved_at: datetime | None

    @property
    def is_empty(self) -> bool:
        """Whether nobody has entered anything yet."""
        return not any(self.rows.values())


def read_contents(*, using: str = DEFAULT_DB_ALIAS) -> Contents:
    """Return what a database holds. One query a model, which reads its whole table.

    Of a database that an older version of the program has made it returns what this
    one knows.
    """
    rows, newest_id = {}, {}
    # A database of an older version of the program lacks some.
    tables = set(connections[using].introspection.table_names())
    for model in kept_models():
        if model._meta.db_table not in tables:
            continue
        label = model._meta.label
        found = (
            model._base_manager.using(using)
            .order_by()
            .aggregate(rows=models.Count("pk"), newest=Max("pk"))
        )
        rows[label] = int(found["rows"])
        if isinstance(found["newest"], int):
            newest_id[label] = found["newest"]
    moved = Movement.objects.using(using).aggregate(last=Max("at"))
    return Contents(_applied(using), rows, newest_id, moved["last"])


def is_set_up() -> bool:
    """Whether the database that the settings name has this program's tables."""
    names = connections[DEFAULT_DB_ALIAS].introspection.table_names()
    return Movement._meta.db_table in names


def foreign_tables() -> set[str]:
    """Return the tables in the settings' database that are none of this program's."""
    there = connections[DEFAULT_DB_ALIAS].introspection
    ours = {*there.django_table_names(), MigrationRecorder.Migration._meta.db_table}
    return set(there.table_names()) - ours


def kept_models() -> list[type[models.Model]]:
    """Return the models whose rows somebody entered, join tables included."""
    found: list[Any] = apps.get_models(include_auto_created=True)
    return [
        model
        for model in found
        if model._meta.app_label not in PASSING_APPS
        and model._meta.label not in PASSING_MODELS
        and not model._meta.proxy
    ]


def _applied(using: str) -> tuple[str, ...]:
    applied = MigrationRecorder(connections[using]).applied_migrations()
    return tuple(sorted(f"{app}.{name}" for app, name in applied))
