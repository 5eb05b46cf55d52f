"""Commands for people: what they refuse is one line on stderr and exit code 2."""

import sys
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DatabaseError, OperationalError, ProgrammingError
from django.utils.translation import gettext as _

from stock.bakery import time_zone_note
from stock.database.unsaved import why_unsaved
from stock.errors import StockError

EXIT_CODE = 2
STOPPED_EXIT_CODE = 130  # as shells say it of Ctrl-C


class PlainCommand(BaseCommand):
    """A command that says in one sentence why it cannot do what it was asked.

    From a terminal that is a line on stderr and exit code 2; through `call_command`
    it is a CommandError with the same words. A command of another app adds its own
    base error to `refusals`.
    """

    refusals: tuple[type[Exception], ...] = (StockError,)
    # Whether it tells or reads days, which stand on the bakery's clock.
    tells_days = False
    _is_from_terminal = False

    def create_parser(
        self, prog_name: str, subcommand: str, **kwargs: Any
    ) -> CommandParser:
        """Return a parser that raises what is wrong instead of printing its usage."""
        self.help = _(self.help)
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.called_from_command_line = False
        return parser

    def run_from_argv(self, argv: list[str]) -> None:
        """Run as from a terminal; wrong arguments are one line too."""
        self._is_from_terminal = True
        try:
            super().run_from_argv(argv)
        except CommandError as error:
            self.refuse(str(error).removeprefix("Error: "))
        except KeyboardInterrupt:
            self.stderr.write(_("Stopped."), lambda text: text)
            sys.exit(STOPPED_EXIT_CODE)

    def execute(self, *args: Any, **options: Any) -> Any:
        """Run the command, and turn what it refuses into a sentence."""
        try:
            done = super().execute(*args, **options)
            self._tell_time_zone()
        except self.refusals as error:
            self.refuse(str(error))
        except CommandError as error:
            self.refuse(str(error))
        except DatabaseError as error:
            self.refuse(_database_sentence(error))
        return done

    def _tell_time_zone(self) -> None:
        """Say on whose clock days were told, where nobody has set one."""
        if self.tells_days and (note := time_zone_note()):
            self.stderr.write(note, lambda text: text)

    def refuse(self, sentence: str) -> NoReturn:
        """End the command with a sentence."""
        line = " ".join(sentence.split())
        if not self._is_from_terminal:
            raise CommandError(line, returncode=EXIT_CODE)
        self.stderr.write(line, lambda text: text)
        sys.exit(EXIT_CODE)


def _database_sentence(error: DatabaseError) -> str:
    why = why_unsaved(error)
    if why is not None:
        return f"{why.sentence} ({error})"
    if isinstance(error, OperationalError | ProgrammingError):
        return _(
            "The database cannot be read ({error}). If it is new, run: python "
            "manage.py migrate"
        ).format(error=error)
    return _(
        "The database cannot be used ({error}). Check DATABASE_URL, or "
        "restore the database from a backup."
    ).format(error=error)
