"""The command that loads a kitchen: what it says, and how it refuses."""

import io
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from planning.management.commands.load_kitchen import Command
from stock.models import Movement, Place
from tests.build import NOON

pytestmark = pytest.mark.django_db

KITCHENS = Path(__file__).parents[1] / "reference" / "kitchens"


def run(*arguments):
    out = io.StringIO()
    call_command("load_kitchen", *arguments, stdout=out)
    return out.getvalue().splitlines()


def test_the_command_says_what_became_of_each_sheet():
    path = str(KITCHENS / "butter_cake")

    preview = run(path, "--preview")
    first = run(path)
    second = run(path)

    assert preview[-1] == "Nothing was stored: this is what would be."
    assert "Places: 2 added." in first
    assert first[-1] == "All of it is stored."
    assert second[-1] == "Nothing changes: all of it is stored already."


def test_the_moment_of_the_command_is_local_to_the_file_s_own_time_zone(tmp_path):
    (tmp_path / "Settings.csv").write_text("setting,value\ntime_zone,Asia/Tokyo\n")
    (tmp_path / "Items.csv").write_text("item,measure\nbutter,mass\n")
    (tmp_path / "Stock.csv").write_text("item,quantity\nbutter,2 kg\n")

    run(str(tmp_path), "--at", "2026-05-04T21:00")

    assert Movement.objects.get().at == NOON


def test_the_command_refuses_with_every_faulty_cell(tmp_path):
    (tmp_path / "Places.csv").write_text("place,walk_order\nshelf,x\nbin,y\n")

    with pytest.raises(CommandError) as error:
        run(str(tmp_path))

    assert error.value.returncode == 2
    assert "Places!B2:" in str(error.value)
    assert "Places!B3:" in str(error.value)
    assert not Place.objects.exists()


def test_the_command_refuses_a_moment_at_the_end_of_time():
    with pytest.raises(CommandError, match="is too far away") as error:
        run(str(KITCHENS / "butter_cake"), "--at", "9999-12-31T23:59")

    assert error.value.returncode == 2


def test_a_terminal_shows_a_line_for_each_faulty_cell(tmp_path, capsys):
    (tmp_path / "Places.csv").write_text("place,walk_order\nshelf,x\nbin,y\n")

    first, second = refused_lines(str(tmp_path), capsys)

    assert first.startswith("Places!B2:")
    assert second.startswith("Places!B3:")


def test_a_file_whose_name_breaks_the_line_is_one_line_too(tmp_path, capsys):
    lines = refused_lines(f"{tmp_path}/spring\nmenu.csv", capsys)

    assert lines == [
        "spring menu.csv is one sheet alone. Put the CSV files of a kitchen into one "
        "folder, and name the folder."
    ]


def refused_lines(path, capsys):
    command = Command()
    command._is_from_terminal = True
    with pytest.raises(SystemExit) as stopped:
        call_command(command, path)
    assert stopped.value.code == 2
    return capsys.readouterr().err.splitlines()
