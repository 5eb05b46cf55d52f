"""Commands run as from a shell, on a database other than the tests' own."""

import os
import subprocess
import sys

from django.conf import settings


def manage(*words, url):
    """Run a command as from a shell, on another database."""
    return subprocess.run(
        [sys.executable, str(settings.BASE_DIR / "manage.py"), *map(str, words)],
        env={**os.environ, "DATABASE_URL": url},
        capture_output=True,
        text=True,
        check=False,
    )
