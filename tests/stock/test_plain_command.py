"""What the database refuses is one sentence at the door of a command."""

import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management import CommandError
from django.db import DatabaseError, IntegrityError, OperationalError

from stock.management.plain_command import PlainCommand


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (
            OperationalError("no such table: stock_item"),
            "run: python manage.py migrate",
        ),
        (OperationalError("database is locked"), "Try again in a moment."),
        (DatabaseError("file is not a database"), "(file is not a database)"),
        (IntegrityError("FOREIGN KEY constraint failed"), "from a backup."),
    ],
)
def test_what_the_database_refuses_is_one_sentence(error, sentence):
    class Failing(PlainCommand):
        requires_system_checks = ()

        def handle(self, **_options):
            raise error

    with pytest.raises(CommandError) as refused:
        Failing().execute(no_color=True, force_color=False, skip_checks=True)

    assert sentence in str(refused.value)
    assert refused.value.returncode == 2


def test_ctrl_c_is_no_traceback(capsys):
    class Waiting(PlainCommand):
        requires_system_checks = ()

        def handle(self, **_options):
            raise KeyboardInterrupt

    with pytest.raises(SystemExit) as stopped:
        Waiting().run_from_argv(["manage.py", "waiting"])

    assert stopped.value.code == 130
    assert capsys.readouterr().err == "Stopped.\n"


@pytest.mark.parametrize(
    ("arguments", "merged"),
    [
        (("help",), False),
        (("check",), False),
        (("version",), False),
        (("convert", "2 lb", "--item", "nothing of that name"), True),
    ],
)
def test_a_reader_that_goes_away_is_no_traceback(arguments, merged):
    reading, writing = os.pipe()
    os.close(reading)

    done = subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=settings.BASE_DIR,
        stdout=writing,
        stderr=writing if merged else subprocess.PIPE,
        check=False,
    )

    os.close(writing)
    assert done.returncode == 141
    assert not done.stderr
