"""What README says of backups, done as it says."""

import re
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import connection

from planning.interchange.taking_out import NOT_HELD
from stock.backups import records
from tests import build
from tests.elsewhere import manage
from tests.stock.behind_proxy import needed

pytestmark = pytest.mark.django_db(transaction=True)

PLACES = "/path/to/"


@pytest.fixture
def readme():
    text = (settings.BASE_DIR / "README.md").read_text(encoding="utf-8")
    _, _, rest = text.partition("### Backups")
    return rest


def carried_out(command, folder, monkeypatch, url):
    """Carry a command out where README's reader would, with this test's Python."""
    command = command.replace(f"{PLACES}tierlarder", str(settings.BASE_DIR))
    command = command.replace(PLACES, f"{folder}/")
    command = command.replace(".venv/bin/python", sys.executable)
    monkeypatch.setenv("DATABASE_URL", url)
    return subprocess.run(
        [needed("bash"), "-c", command],
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        check=True,
    ).stdout


def test_the_nightly_line_and_the_rehearsal_work_as_they_are_written(
    readme, tmp_path, empty_place, monkeypatch
):
    assert manage("migrate", url=empty_place).returncode == 0
    nightly = re.search(r"^0 2 \* \* \* (.*)$", readme, re.MULTILINE)[1]
    rehearsal = re.search(r"`(DATABASE_URL=\S+ .* restore FILE)`", readme)[1]

    said = carried_out(nightly, tmp_path, monkeypatch, empty_place)

    [backup] = records.finished(tmp_path / "backups")
    assert said.startswith(f"Backup: {backup}, ledger whole")
    if connection.vendor == "sqlite":  # README rehearses with an embedded database
        rehearsal = rehearsal.replace("FILE", str(backup))
        said = carried_out(rehearsal, tmp_path, monkeypatch, empty_place)
        assert said.startswith("Restored: the kitchen as of ")
        assert (tmp_path / "rehearsal.sqlite3").exists()


def test_the_nightly_line_keeps_two_weeks(readme, tmp_path, empty_place, monkeypatch):
    assert manage("migrate", url=empty_place).returncode == 0
    nightly = re.search(r"^0 2 \* \* \* (.*)$", readme, re.MULTILINE)[1]
    folder = tmp_path / "backups"
    carried_out(nightly, tmp_path, monkeypatch, empty_place)
    [first] = records.finished(folder)
    for night in range(14):  # fourteen nights of a year ago
        older = folder / f"kitchen-2025-05-{night + 1:02}T02-00-00Z{first.suffix}"
        older.write_bytes(first.read_bytes())
        record = records.record_path(first).read_bytes()
        records.record_path(older).write_bytes(record)

    said = carried_out(nightly, tmp_path, monkeypatch, empty_place)

    assert "Removed: 2 older backups." in said
    kept = [path.name[:18] for path in records.finished(folder)]
    assert len(kept) == 14
    assert kept[-1] == "kitchen-2025-05-03"


def test_readme_says_what_is_no_backup(readme):
    words = " ".join(readme.split())

    assert "Copying `kitchen.sqlite3` while somebody works is no backup" in words
    assert (
        "Nor is a kitchen workbook, which has no movements, counts, holds or people."
        in words
    )


def test_the_page_and_the_command_say_in_one_line_what_a_workbook_lacks(
    signed_in, tmp_path, capsys
):
    build.item("flour", on_hand_base=5)

    call_command("dump_kitchen", str(tmp_path / "kitchen.xlsx"))
    page = signed_in.get("/kitchen/files/").content.decode()

    said = str(NOT_HELD)
    assert "\n" not in said
    for lacking in ("movements", "counts", "draft", "people", "manage.py backup"):
        assert lacking in said
    assert capsys.readouterr().out.splitlines()[-1] == said
    assert said in page
