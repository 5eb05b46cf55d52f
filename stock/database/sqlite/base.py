"""Django's own backend for SQLite, reaching a database that may only be read too."""

from pathlib import Path
from typing import Any

from django.db.backends.sqlite3 import base

from stock.database.sqlite import address


class DatabaseWrapper(base.DatabaseWrapper):
    """A connection that looks, each time it is opened, whether its folder is shut."""

    def get_new_connection(self, conn_params: dict[str, Any]) -> Any:
        """Open the database."""
        name = str(conn_params["database"])
        if not name.startswith(("file:", ":memory:")):
            conn_params = {**conn_params, "database": address(Path(name)), "uri": True}
        return super().get_new_connection(conn_params)
