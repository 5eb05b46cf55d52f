"""Run the kitchen's commands: `python manage.py help` lists them."""

import os
import sys


def main() -> None:
    """Hand the command line to Django."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
    try:
        from django.core.management import execute_from_command_line
    except ImportError:
        sys.stderr.write(
            "Django is not installed here. Run the first command in README.md.\n"
        )
        sys.exit(2)
    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
