"""Commands run as from a shell, on a database other than the tests' own."""

import os
import subprocess
import sys
from contextlib import contextmanager

from django.conf import settings
from django.db import connection, connections


def manage(*words, url):
    """Run a command as from a shell, on another database."""
    return subprocess.run(
        [sys.executable, str(settings.BASE_DIR / "manage.py"), *map(str, words)],
        env={**os.environ, "DATABASE_URL": url},
        capture_output=True,
        text=True,
        check=False,
    )


@contextmanager
def opened(url):
    """Open another database of the same kind beside the test's own."""
    name = url.removeprefix("sqlite:///")
    if connection.vendor == "postgresql":
        name = url.rpartition("/")[2]
    other = connection.copy(alias="other")
    other.settings_dict["NAME"] = name
    connections["other"] = other
    try:
        yield "other"
    finally:
        other.close()
        del connections["other"]
