"""A backup that its disk has no room for: said, and the earlier ones are left alone."""

import shutil
import subprocess
import sys
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import connection

from stock.backups import records
from stock.backups.errors import FolderError
from stock.backups.making import make_backup
from tests import build
from tests.build import NOON

pytestmark = pytest.mark.django_db(transaction=True)

ON_A_SMALL_DISK = """
set -e
mount -t tmpfs -o size=$1 tmpfs "$2"
cp -p "$3"/* "$2"
set +e
"$4" manage.py backup "$2" --keep 1
code=$?
cp -a "$2" "$5"
exit $code
"""


def has_small_disks():
    trial = ["unshare", "-m", "mount", "-t", "tmpfs", "tmpfs", "/mnt"]
    found = shutil.which("unshare") and subprocess.run(
        trial, capture_output=True, check=False
    )
    return bool(found) and found.returncode == 0


@pytest.mark.skipif(not has_small_disks(), reason="no disk can be mounted here")
def test_a_full_disk_leaves_the_earlier_backups_and_says_so(tmp_path):
    build.item("flour", on_hand_base=5)
    made = make_backup(tmp_path / "earlier", at=NOON)
    disk, seen = tmp_path / "disk", tmp_path / "seen"
    disk.mkdir()
    room = made.path.stat().st_size * 3 // 2  # for one, not for another

    done = subprocess.run(
        [
            *("unshare", "-m", "sh", "-c", ON_A_SMALL_DISK, "sh"),
            *map(str, (room, disk, made.path.parent, sys.executable, seen)),
        ],
        cwd=settings.BASE_DIR,
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 2
    assert done.stdout == ""
    [line] = done.stderr.splitlines()
    assert "No space left" in line or "full" in line
    assert line.endswith("Earlier backups are as they were.")
    assert records.finished(seen) == [seen / made.path.name]
    records.check_sum(seen / made.path.name, made.record)
    assert len(list(seen.iterdir())) == 2


def environment():
    """Return how a command reaches the tests' own database."""
    import os

    at = connection.settings_dict
    url = f"sqlite:///{at['NAME']}"
    if connection.vendor == "postgresql":
        url = f"postgresql://{at['USER']}@{at['HOST']}:{at['PORT']}/{at['NAME']}"
    return {**os.environ, "DATABASE_URL": url}


def test_a_record_that_cannot_be_written_leaves_no_copy_behind(tmp_path):
    name = records.name_for(NOON, ".sqlite3")
    if connection.vendor == "postgresql":
        name = records.name_for(NOON, ".pgdump")
    in_the_way = tmp_path / f".{records.record_path(tmp_path / name).name}.partial"
    in_the_way.mkdir()

    with pytest.raises(FolderError):
        make_backup(tmp_path, at=NOON)

    assert list(tmp_path.iterdir()) == [in_the_way]


def test_backups_from_a_clock_that_was_ahead_do_not_push_out_new_ones(tmp_path):
    ahead = [make_backup(tmp_path, at=NOON + timedelta(days=366 + n)) for n in range(2)]

    tonight = make_backup(tmp_path, at=NOON, keep=2)
    tomorrow = make_backup(tmp_path, at=NOON + timedelta(days=1), keep=2)

    assert tonight.removed == tomorrow.removed == 1
    assert records.finished(tmp_path) == [tomorrow.path, tonight.path]
    assert not any(each.path.exists() for each in ahead)


@pytest.mark.parametrize("back", [timedelta(hours=1), timedelta(days=1)])
def test_a_backup_just_made_is_kept_where_the_clock_was_set_back(tmp_path, back):
    make_backup(tmp_path, at=NOON)

    made = make_backup(tmp_path, at=NOON - back, keep=1)

    assert records.finished(tmp_path) == [made.path]
