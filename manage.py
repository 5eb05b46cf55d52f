"""Run the kitchen's commands: `python manage.py help` lists them."""

import os
import sys

BROKEN_PIPE_EXIT_CODE = 141  # as shells say it of a reader that went away


def main() -> None:
    """Hand the command line to Django."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit(refusal("Django is not installed here: run README's first command."))
    try:
        try:
            execute_from_command_line(sys.argv)
        finally:
            sys.stdout.flush()  # here, where a pipe that broke can still be caught
    except ImproperlyConfigured as error:
        sys.exit(refusal(str(error)))
    except BrokenPipeError:  # `| head` has read what it wanted
        _leave_quietly()
        sys.exit(BROKEN_PIPE_EXIT_CODE)


def _leave_quietly() -> None:
    """Send what is still to be written nowhere, so that leaving does not fail again."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.stdout, sys.stderr):
        os.dup2(nowhere, stream.fileno())


def refusal(sentence: str) -> int:
    """Say why nothing can be done here; return the exit code for that."""
    sys.stderr.write(f"{sentence}\n")
    return 2


if __name__ == "__main__":
    main()
