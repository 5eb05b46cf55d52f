"""Run the kitchen's commands: `python manage.py help` lists them."""

import os
import sys


def main() -> None:
    """Hand the command line to Django."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.exit(refusal("Django is not installed here: run README's first command."))
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit(refusal(str(error)))


def refusal(sentence: str) -> int:
    """Say why nothing can be done here; return the exit code for that."""
    sys.stderr.write(f"{sentence}\n")
    return 2


if __name__ == "__main__":
    main()
