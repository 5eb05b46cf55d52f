"""Whether the kitchen works, for whoever watches over it: told without a secret."""

import os
import shutil
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings
from django.db import Error, connection
from django.utils.translation import gettext as _

from planning.models import OrderSearch
from planning.search.searching import is_alive
from stock.database.unsaved import can_save
from stock.ledger import guard

OK = "ok"
# A search that was lost longer ago is nothing to wake anybody for.
LOST_OF_LATE = timedelta(hours=1)
LEAST_FREE_BYTES = 200 * 1024 * 1024


def health(now: datetime) -> dict[str, str]:
    """Return what was found by what was looked at: "ok", or a few words.

    database: it answers. ledger: its triggers stand. search: none was lost within the
    hour. disk: room for another 200 MB where the data is. saving: the data may be
    written. Three queries.
    """
    checks: dict[str, Callable[[], str]] = {
        "database": _database,
        "ledger": _ledger,
        "search": lambda: _search(now),
        "disk": _disk,
        "saving": lambda: OK if can_save() else "read-only",
    }
    return {name: _found(check) for name, check in checks.items()}


def _found(check: Callable[[], str]) -> str:
    try:
        return check()
    except Error:
        return _("does not answer")
    except OSError:
        return _("cannot be read")


def _database() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return OK


def _ledger() -> str:
    return _("not guarded") if guard.missing_triggers(connection) else OK


def _search(now: datetime) -> str:
    running = OrderSearch.objects.filter(
        state=OrderSearch.State.RUNNING, started_at__gte=now - LOST_OF_LATE
    )
    return OK if all(is_alive(search, now) for search in running) else "lost"


def _disk() -> str:
    name = str(connection.settings_dict["NAME"])
    is_file = connection.vendor == "sqlite" and os.path.exists(name)
    folder = Path(name).parent if is_file else settings.BASE_DIR
    free = shutil.disk_usage(folder).free
    return OK if free >= LEAST_FREE_BYTES else _("nearly full")
