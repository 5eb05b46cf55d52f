"""Getting the search's machine code ready before anybody waits for it."""

import subprocess
import sys
from contextlib import suppress

from django.conf import settings

from planning.engine.ordering.kernels.place import is_complete

COMMAND = "make_machine_code"


def make_in_background() -> None:
    """Start a process that makes the machine code, if it is not kept yet, and ends.

    Where it cannot be started, the first search makes the code itself.
    """
    if is_complete():
        return
    with suppress(OSError):
        subprocess.Popen(  # noqa: S603 (this very program)
            [sys.executable, str(settings.BASE_DIR / "manage.py"), COMMAND],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
