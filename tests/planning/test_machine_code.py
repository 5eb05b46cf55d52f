"""Machine code is made when the program is set up, not when a search is asked for."""

import time

from django.core.management import call_command

from planning.engine.ordering.kernels import place
from tests.elsewhere import manage

LONGEST_SECONDS = 240.0  # a busy machine takes its time over it


def test_migrating_from_the_command_line_makes_it(tmp_path, monkeypatch):
    monkeypatch.setenv(place.FOLDER_VARIABLE, str(tmp_path / "code"))
    end_s = time.monotonic() + LONGEST_SECONDS

    done = manage("migrate", "--verbosity=0", url=f"sqlite:///{tmp_path}/new.sqlite3")

    assert done.returncode == 0, done.stderr
    while not place.is_complete():
        assert time.monotonic() < end_s, "no machine code after migrating"
        time.sleep(0.2)


def test_the_command_says_how_long_it_took(capsys):
    call_command("make_machine_code")

    assert capsys.readouterr().out.startswith("Ready after ")
    assert place.is_complete()
