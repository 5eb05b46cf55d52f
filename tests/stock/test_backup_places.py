"""Where a backup is brought back to, and what is in the way there."""

import shutil
import sqlite3
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command

from stock.backups import sqlite
from stock.backups.contents import Contents
from stock.backups.errors import NotSetAsideError
from stock.backups.making import make_backup
from stock.backups.newer import newer_words
from stock.models import Item
from tests import build
from tests.build import NOON
from tests.elsewhere import manage
from tests.stock.backed_up import every_row, only_sqlite

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "backups"


def test_a_place_that_is_taken_is_left_alone_and_told_of(folder):
    build.item("flour", on_hand_base=5)
    made = make_backup(folder, at=NOON)
    for amount in (2, 3):
        build.stock(Item.objects.get(), amount, at=NOON + timedelta(hours=amount))
    before = every_row()

    with pytest.raises(CommandError) as refused:
        call_command("restore", str(made.path))

    assert "2 movements, the last of 2026-05-04 15:00 UTC" in str(refused.value)
    assert "nothing was restored" in str(refused.value)
    assert every_row() == before


def test_what_a_place_has_that_the_backup_lacks_is_counted_by_hand(folder):
    record = make_backup(folder, at=NOON).record
    last_at = NOON + timedelta(hours=3)
    there = Contents(
        migrations=(),
        rows=record.rows | {"stock.Movement": 1, "planning.Order": 2, "stock.Item": 0},
        newest_id=record.newest_id,
        last_moved_at=last_at,
    )

    assert newer_words(there, record) == (
        "Newer than the backup of 2026-05-04 12:00 UTC: 1 movement, the last of "
        "2026-05-04 15:00 UTC; 2 orders."
    )


@only_sqlite
def test_a_database_is_set_aside_with_all_that_it_holds(folder, tmp_path):
    build.item("flour", on_hand_base=5)
    made = make_backup(folder, at=NOON)
    place = tmp_path / "kitchen.sqlite3"
    shutil.copy(made.path, place)
    with sqlite3.connect(place) as later:
        later.execute("UPDATE stock_item SET name = 'rye' WHERE name = 'flour'")
    later.close()

    done = manage("restore", made.path, "--set-aside", url=f"sqlite:///{place}")

    assert done.returncode == 0, done.stderr
    [aside] = tmp_path.glob("kitchen-set-aside-*.sqlite3")
    assert f"Set aside: {aside}." in done.stdout
    names = [
        sqlite3.connect(path).execute("SELECT name FROM stock_item").fetchone()
        for path in (place, aside)
    ]
    assert names == [("flour",), ("rye",)]


@only_sqlite
def test_a_database_in_use_is_not_set_aside(folder, tmp_path):
    build.item("flour", on_hand_base=5)
    made = make_backup(folder, at=NOON)
    place = tmp_path / "kitchen.sqlite3"
    manage("restore", made.path, url=f"sqlite:///{place}")
    site = sqlite3.connect(place)
    site.execute("SELECT count(*) FROM stock_item").fetchone()

    done = manage("restore", made.path, "--set-aside", url=f"sqlite:///{place}")

    assert done.returncode == 2
    assert "kitchen.sqlite3 is in use. Stop the site" in done.stderr
    assert site.execute("SELECT name FROM stock_item").fetchone() == ("flour",)
    site.close()


@only_sqlite
def test_what_cannot_be_opened_is_not_said_to_be_in_use(tmp_path):
    no_file = tmp_path / "kitchen.sqlite3"
    no_file.mkdir()

    with pytest.raises(NotSetAsideError, match="unable to open database file"):
        sqlite.set_aside(no_file, tmp_path / "aside.sqlite3")

    assert no_file.is_dir()


@only_sqlite
def test_what_cannot_be_read_is_set_aside_as_it_is(folder, tmp_path):
    build.item("flour", on_hand_base=5)
    made = make_backup(folder, at=NOON)
    place = tmp_path / "kitchen.sqlite3"
    place.write_bytes(b"no database any more" * 100)

    refused = manage("restore", made.path, url=f"sqlite:///{place}")
    done = manage("restore", made.path, "--set-aside", url=f"sqlite:///{place}")

    assert (refused.returncode, done.returncode) == (2, 0), done.stderr
    assert "What is there cannot be read." in refused.stderr
    [aside] = tmp_path.glob("kitchen-set-aside-*.sqlite3")
    assert aside.read_bytes() == b"no database any more" * 100
    assert "ledger is whole" in manage("verify_ledger", url=f"sqlite:///{place}").stdout
