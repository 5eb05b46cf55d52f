"""The power goes: what was acknowledged is there, and nothing is half there."""

import hashlib
import pickle
import random
import sqlite3
from contextlib import closing

import pytest
from django.conf import settings
from django.db import connection

from stock.backups import sqlite
from stock.ledger.verifying import verify_ledger
from tests.planning import test_kills as jobs
from tests.planning.killing import in_a_child
from tests.planning.watched_disk import Disk, Watch

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.skipif(
        connection.vendor != "sqlite", reason="PostgreSQL looks after its own files"
    ),
]

DAY = (
    *(jobs.load, jobs.set_flour, jobs.with_a_count, jobs.post, jobs.draft),
    *(jobs.approve, jobs.send, jobs.change_cake, jobs.cancel_cake),
)
# Often, so that the power also goes while the journal is put away.
PUT_AWAY_OFTEN = "PRAGMA wal_autocheckpoint = 25;"
NOTHING, EVERYTHING, SOME = "nothing", "everything", "some sectors"


def state(path):
    """Return a digest of every row of every table, as another connection sees it."""
    with closing(sqlite3.connect(path)) as database:
        rows = "\n".join(database.iterdump())
    return hashlib.sha256(rows.encode()).hexdigest()


def a_day_on_a_watched_disk(tmp_path, synchronous):
    """Do a day's jobs; return the files before, what was done to them, and the states.

    An event "done" says that a change has been acknowledged, each of which leads to
    another state.
    """
    told = tmp_path / "told"
    path = sqlite.database_path()
    connection.close()
    with closing(sqlite3.connect(path)) as database:  # nothing is left in a journal
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = {path.name: path.read_bytes()}

    def work():
        watching, states = Watch(), []
        connection.settings_dict["OPTIONS"] = settings.SQLITE_OPTIONS | {
            "init_command": settings.SQLITE_OPTIONS["init_command"].replace(
                "synchronous=FULL", f"synchronous={synchronous}"
            )
            + PUT_AWAY_OFTEN
        }
        usual_commit = connection._commit

        def commit():
            usual_commit()
            if (now := state(path)) != states[-1]:
                watching.events.append(("done", "", None))
                states.append(now)

        connection._commit = commit
        connection.ensure_connection()
        states.append(state(path))
        for job in DAY:
            job()
        told.write_bytes(pickle.dumps((watching.events, states)))

    assert in_a_child(work) == 0
    events, states = pickle.loads(told.read_bytes())  # noqa: S301 (of our own child)
    assert len(DAY) < len(set(states)) == len(states)
    return before, events, states


def losses(before, events, draws, cuts):
    """Yield what is left when the power goes: jobs acknowledged, what is there, files.

    At every sync, before and after it, at every acknowledgment, and at so many points
    besides.
    """
    marked = {at for at, (what, *_) in enumerate(events) if what in ("sync", "done")}
    points = marked | {at + 1 for at in marked} | {len(events)}
    points |= set(draws.sample(range(len(events)), min(cuts, len(events))))
    disk, done = Disk(before), 0
    for at in range(len(events) + 1):
        if at in points:
            yield done, NOTHING, disk.files(lambda _: False)
            yield done, EVERYTHING, disk.files(lambda _: True)
            yield done, SOME, disk.files(lambda _: draws.random() < 0.5)
        if at < len(events):
            event = events[at]
            if event[0] == "done":
                done += 1
            else:
                disk.take(event)


def found_after(files, folder, name):
    """Start from what a power loss has left; return the state, and if all is whole."""
    for left in folder.iterdir():
        left.unlink()
    for each, content in files.items():
        (folder / each).write_bytes(content)
    path = folder / name
    try:
        with closing(sqlite3.connect(path)) as database:
            [(verdict,), *_] = database.execute("PRAGMA integrity_check")
        found = state(path)
        with sqlite.opened(path) as copy:
            return found, verdict == "ok" and verify_ledger(using=copy).is_whole
    except sqlite3.DatabaseError:
        return None, False


def lose_the_power(tmp_path, synchronous, cuts):
    """Lose it often; return how often, what was not there though done, what broke."""
    before, events, states = a_day_on_a_watched_disk(tmp_path, synchronous)
    [name] = before
    folder = tmp_path / "left"
    folder.mkdir()
    times, lost, broken = 0, [], []
    for done, what, files in losses(before, events, random.Random(synchronous), cuts):
        times += 1
        found, is_whole = found_after(files, folder, name)
        if not is_whole or found not in states:
            broken.append((done, what))
        elif states.index(found) < done:
            lost.append((done, what))
    return times, lost, broken


def test_no_acknowledged_change_is_lost_with_the_power(tmp_path, request, figure):
    cuts = request.config.getoption("--kills")

    times, lost, broken = lose_the_power(tmp_path, "FULL", cuts)

    assert (lost, broken) == ([], [])
    figure(
        f"power: lost {times} times in a day of {len(DAY)} jobs; every acknowledged "
        "change was there, nothing half done, ledger whole"
    )


def test_with_fewer_syncs_acknowledged_changes_are_lost(tmp_path, figure):
    times, lost, broken = lose_the_power(tmp_path, "NORMAL", 30)

    assert broken == []
    assert lost
    assert {what for _, what in lost} >= {NOTHING}
    figure(f"power, were it synchronous=NORMAL: {len(lost)} of {times} lose a change")


def test_without_syncs_the_database_breaks(tmp_path):
    _, _, broken = lose_the_power(tmp_path, "OFF", 30)

    assert broken
