"""Restoring is whole, or leaves the place as it was; nobody stays signed in."""

from importlib import import_module

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.db import connection, connections
from django.db.migrations.recorder import MigrationRecorder

from stock.backups import records
from stock.backups.making import make_backup
from tests import build
from tests.build import NOON
from tests.elsewhere import manage, opened

pytestmark = pytest.mark.django_db(transaction=True)

SessionStore = import_module(settings.SESSION_ENGINE).SessionStore


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "backups"


def tables(url):
    with opened(url) as alias:
        return set(connections[alias].introspection.table_names())


def execute(url, statement):
    with opened(url) as alias, connections[alias].cursor() as cursor:
        cursor.execute(statement)


@pytest.fixture
def backup_that_cannot_be_migrated(folder):
    """A sound backup that forgot its later steps: one repeats, the next fails."""
    build.item("flour", on_hand_base=5)
    recorder = MigrationRecorder(connection)
    forgotten = [
        step
        for step in recorder.applied_migrations()
        if step[0] in {"stock", "planning"} and not step[1].startswith("0001")
    ]
    for step in forgotten:
        recorder.record_unapplied(*step)
    try:
        return make_backup(folder, at=NOON).path
    finally:
        for step in forgotten:
            recorder.record_applied(*step)


@pytest.mark.parametrize("is_set_up", [False, True], ids=["nothing", "set up"])
def test_what_fails_while_it_is_brought_up_to_date_leaves_the_place_empty(
    backup_that_cannot_be_migrated, empty_place, tmp_path, is_set_up
):
    if is_set_up:
        assert manage("migrate", url=empty_place).returncode == 0
    before, files = tables(empty_place), sorted(tmp_path.iterdir())

    done = manage("restore", backup_that_cannot_be_migrated, url=empty_place)

    assert (done.returncode, done.stdout) == (2, "")
    assert "could not be brought up to date" in done.stderr
    assert "nothing was restored" in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert tables(empty_place) == before
    assert sorted(tmp_path.iterdir()) == files
    # What is as it was takes another backup, and works.
    good = manage(
        "restore", make_backup(tmp_path / "good", at=NOON).path, url=empty_place
    )
    assert (good.returncode, good.stderr) == (0, "")
    assert "The ledger is whole" in manage("verify_ledger", url=empty_place).stdout


def test_whoever_was_signed_in_at_the_backup_is_signed_out_by_restoring(
    folder, empty_place
):
    build.user("ada")
    for _ in range(2):
        session = SessionStore()
        session["who"] = "ada"
        session.save()
    made = make_backup(folder, at=NOON)

    done = manage("restore", made.path, url=empty_place)

    assert done.stdout.endswith("\nEverybody is signed out, and signs in anew.\n")
    with opened(empty_place) as restored:
        assert Session.objects.count() == 2
        assert Session.objects.using(restored).count() == 0
        assert [user.username for user in User.objects.using(restored).all()] == ["ada"]


@pytest.mark.parametrize("is_set_up", [False, True], ids=["alone", "beside a kitchen"])
def test_tables_of_another_program_are_left_alone(folder, empty_place, is_set_up):
    build.item("flour", on_hand_base=5)
    made = make_backup(folder, at=NOON)
    if is_set_up:
        assert manage("migrate", url=empty_place).returncode == 0
    execute(empty_place, "CREATE TABLE letters (text varchar(9))")
    before = tables(empty_place)

    done = manage("restore", made.path, url=empty_place)

    assert done.returncode == 2
    assert "isn't empty, so nothing was restored" in done.stderr
    assert "It holds tables that aren't a kitchen's." in done.stderr
    assert tables(empty_place) == before
    assert len(records.finished(folder)) == 1
