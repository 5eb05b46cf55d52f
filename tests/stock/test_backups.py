"""A backup holds every row, and a restored one is the kitchen that it was."""

import json
import os
import shutil
import sqlite3
import threading
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from stock.backups import records
from stock.backups.errors import (
    FolderError,
    LedgerNotWholeError,
    NotABackupError,
    OtherDatabaseError,
)
from stock.backups.making import make_backup
from stock.backups.restoring import restore_backup
from stock.ledger import ledger
from stock.models import Balance, Movement
from tests import build
from tests.build import NOON
from tests.elsewhere import manage, opened
from tests.filled import fill_every_table
from tests.stock.backed_up import every_row, only_sqlite

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "backups"


def test_a_restored_backup_has_every_row_of_every_table(folder, empty_place, figure):
    rows = fill_every_table()
    assert not [model for model, number in rows.items() if not number]
    before = every_row()
    made = make_backup(folder, at=NOON)
    build.item("entered after the backup", on_hand_base=1)

    done = manage("restore", made.path, url=empty_place)

    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == (
        "Restored: the kitchen as of 2026-05-04 12:00 UTC, "
        f"ledger whole ({rows['stock.Movement']} movements).\n"
        "Everybody is signed out, and signs in anew.\n"
    )
    with opened(empty_place) as restored:
        assert every_row(restored) == before
    whole = manage("verify_ledger", url=empty_place)
    assert whole.stdout.startswith("The ledger is whole: ")
    figure(
        f"restore: {sum(rows.values())} rows of {len(rows)} tables, "
        f"{rows['stock.Movement']} movements: every one is back, ledger whole"
    )


def test_the_restored_ledger_still_refuses_changes(folder, empty_place):
    build.item("flour", on_hand_base=5)
    made = make_backup(folder, at=NOON)
    manage("restore", made.path, url=empty_place)

    with (
        opened(empty_place) as restored,
        pytest.raises(Exception, match="never changed"),
    ):
        Movement.objects.using(restored).update(note="changed")


def test_a_backup_made_while_others_write_holds_whole_changes(folder):
    flour = build.item("flour", place=build.place("rack"), on_hand_base=1_000)
    shelf, lot = flour.place, ledger.lot_for(item_id=flour.pk)
    stop = threading.Event()

    def move_about():
        try:
            while not stop.is_set():
                ledger.record(
                    [
                        ledger.NewMovement(
                            flour.pk, shelf.pk, lot, Movement.Kind.USED, amount, NOON
                        )
                        for amount in (-3, 3)
                    ]
                )
        finally:
            connection.close()

    writer = threading.Thread(target=move_about)
    writer.start()
    try:
        made = [make_backup(folder, at=NOON + timedelta(hours=n)) for n in range(5)]
    finally:
        stop.set()
        writer.join()

    # One movement filled the shelf; after that they come in pairs, or not at all.
    moved = [each.record.rows["stock.Movement"] for each in made]
    assert all(number % 2 == 1 for number in moved)
    assert moved == sorted(moved)


def test_the_newest_are_kept_and_others_files_are_left_alone(folder):
    folder.mkdir()
    (folder / "kitchen-of-grandma.txt").write_text("not ours")
    for day in range(4):
        made = make_backup(folder, at=NOON + timedelta(days=day), keep=2)

    assert made.removed == 1
    assert [path.name[:18] for path in records.finished(folder)] == [
        "kitchen-2026-05-07",
        "kitchen-2026-05-06",
    ]
    assert len(list(folder.iterdir())) == 5  # two backups, their records, a stranger


def test_two_backups_of_one_second_both_count(folder):
    first, second = make_backup(folder, at=NOON), make_backup(folder, at=NOON)

    assert records.finished(folder) == [second.path, first.path]


def test_a_backup_begun_in_the_same_second_as_another_leaves_that_one_alone(folder):
    usual = make_backup(folder, at=NOON).path
    usual.unlink()
    records.record_path(usual).unlink()
    name = usual.name
    others = folder / f".{name}{records.PARTIAL_ENDING}"
    others.write_text("half of it")

    made = make_backup(folder, at=NOON)

    assert made.path.name != name
    assert others.read_text() == "half of it"


def test_a_ledger_that_does_not_add_up_makes_no_backup(folder):
    build.item("flour", on_hand_base=5)
    Balance.objects.update(amount_base=6)

    with pytest.raises(LedgerNotWholeError, match="verify_ledger"):
        make_backup(folder, at=NOON)

    assert list(folder.iterdir()) == []


def test_a_folder_that_is_a_file_is_named(tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("a file")

    with pytest.raises(FolderError, match="taken: nothing can be written there"):
        make_backup(taken, at=NOON)


def test_what_an_interrupted_backup_left_is_cleared_a_day_later(folder):
    folder.mkdir()
    old, young = (
        folder / f".kitchen-2026-05-0{number}T12-00-00Z.sqlite3.partial"
        for number in (1, 2)
    )
    for left, hours_ago in ((old, 25), (young, 23)):
        left.write_bytes(b"half")
        cut_off_at = (NOON - timedelta(hours=hours_ago)).timestamp()
        os.utime(left, (cut_off_at, cut_off_at))

    make_backup(folder, at=NOON)

    assert (old.exists(), young.exists()) == (False, True)


def test_a_file_without_its_record_is_no_backup(folder):
    made = make_backup(folder, at=NOON)
    records.record_path(made.path).unlink()

    with pytest.raises(NotABackupError, match=r"record\.json is missing"):
        restore_backup(made.path, at=NOON)
    assert records.finished(folder) == []


@pytest.mark.parametrize(
    "said", ["", "{}", "[]", "null", '{"file": 1}', "[" * 5_000, "\x00"]
)
def test_a_record_that_cannot_be_read_is_no_record(folder, said):
    made = make_backup(folder, at=NOON)
    records.record_path(made.path).write_text(said)

    with pytest.raises(NotABackupError):
        restore_backup(made.path, at=NOON)


def test_one_changed_byte_is_found(folder, empty_place):
    made = make_backup(folder, at=NOON)
    content = bytearray(made.path.read_bytes())
    content[len(content) // 2] ^= 1
    made.path.write_bytes(content)

    done = manage("restore", made.path, url=empty_place)

    assert done.returncode == 2
    assert "is damaged: its checksum is not the one in its record" in done.stderr
    assert "Use an earlier backup." in done.stderr


def test_a_backup_of_the_other_database_is_refused(folder):
    made = make_backup(folder, at=NOON)
    path = records.record_path(made.path)
    other = {"sqlite": "postgresql", "postgresql": "sqlite"}[connection.vendor]
    path.write_text(json.dumps(json.loads(path.read_text()) | {"database": other}))

    with pytest.raises(OtherDatabaseError, match="Set DATABASE_URL"):
        restore_backup(made.path, at=NOON)


def test_a_backup_of_a_newer_program_is_refused(folder, empty_place):
    made = make_backup(folder, at=NOON)
    path = records.record_path(made.path)
    said = json.loads(path.read_text())
    said["migrations"].append("stock.9999_from_the_future")
    path.write_text(json.dumps(said))

    done = manage("restore", made.path, url=empty_place)

    assert done.returncode == 2
    assert "Update the program first" in done.stderr


@only_sqlite
def test_a_plain_copy_in_use_lacks_what_a_backup_has(folder, tmp_path):
    """Why README says that copying the file is no backup."""
    before = build.item("flour")
    path = Path(connection.settings_dict["NAME"])
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    build.item("acknowledged")

    plain = tmp_path / "plain.sqlite3"
    shutil.copy(path, plain)
    made = make_backup(folder, at=NOON)

    def names(copy):
        rows = sqlite3.connect(copy).execute("SELECT name FROM stock_item ORDER BY id")
        return [name for (name,) in rows]

    assert names(plain) == [before.name]
    assert names(made.path) == [before.name, "acknowledged"]


@pytest.mark.parametrize("keep", ["0", "-1"])
def test_a_number_that_keeps_nothing_is_refused(folder, keep):
    with pytest.raises(CommandError, match="would keep no backup"):
        call_command("backup", str(folder), f"--keep={keep}")


def test_the_command_says_what_it_made(folder, capsys):
    build.item("flour", on_hand_base=5)

    call_command("backup", str(folder), "--keep=1")
    call_command("backup", str(folder), "--keep=1")

    [path] = records.finished(folder)
    first, second, removed = capsys.readouterr().out.splitlines()
    assert first.startswith(f"Backup: {folder}/kitchen-")
    assert second == (
        f"Backup: {path}, ledger whole (1 movement), {path.stat().st_size:,} bytes."
    )
    assert removed == "Removed: 1 older backup."


def test_a_kitchen_of_an_older_program_is_backed_up_before_it_is_brought_up_to_date(
    folder, empty_place
):
    for app, migration in (("stock", "0004"), ("planning", "0004"), ("auth", "0012")):
        assert manage("migrate", app, migration, url=empty_place).returncode == 0

    done = manage("backup", folder, url=empty_place)

    assert done.returncode == 0, done.stderr
    [backup] = records.finished(folder)
    assert "stock.0004_substitutes" in records.read_record(backup).migrations


@only_sqlite
def test_a_folder_named_from_here_is_as_good(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    make_backup(Path("backups"), at=NOON)

    assert len(records.finished(tmp_path / "backups")) == 1


def test_a_backup_can_be_read_by_its_owner_alone(folder):
    made = make_backup(folder, at=NOON)

    assert folder.stat().st_mode & 0o777 == 0o700
    assert made.path.stat().st_mode & 0o777 == 0o600
