"""Reading a whole kitchen at one moment, while others write."""

import sqlite3
import time
from contextlib import closing

import pytest
from django.db import OperationalError, connection
from django.test import Client
from django.urls import reverse

from planning.interchange.taking_out import kitchen_out
from stock.database.one_moment import one_moment
from stock.database.unsaved import BUSY
from stock.ledger.verifying import verify_ledger
from stock.models import Item
from stock.web.counts import entries
from stock.web.request import bakery_time
from tests import build

ON_SQLITE = pytest.mark.skipif(
    connection.vendor != "sqlite", reason="only SQLite has one lock for all that write"
)


@pytest.fixture
def writer():
    """Somebody else's connection, which holds the write lock."""
    path = connection.settings_dict["NAME"]
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        yield other
        other.execute("ROLLBACK")


@ON_SQLITE
@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("read", [kitchen_out, verify_ledger])
def test_reading_all_does_not_wait_for_somebody_who_writes(writer, read):
    started_s = time.monotonic()

    read()

    # The lock would be waited for, for as long as a change waits.
    assert time.monotonic() - started_s < 10


@pytest.mark.django_db(transaction=True)
def test_what_is_written_meanwhile_is_not_read(at_once):
    build.item("flour")
    before, after = [], []

    def read(_):
        with one_moment():
            before.append(Item.objects.count())
            build_another.release()
            built.acquire(timeout=10)
            after.append(Item.objects.count())

    def write(_):
        build_another.acquire(timeout=10)
        build.item("sugar")
        built.release()

    import threading

    build_another, built = threading.Semaphore(0), threading.Semaphore(0)
    at_once(read, write, times=1)

    assert (before, after) == ([1], [1])
    assert Item.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_what_is_written_afterwards_takes_the_lock_again():
    with one_moment():
        Item.objects.count()

    build.item("flour")

    if connection.vendor == "sqlite":
        assert connection.transaction_mode == "IMMEDIATE"
    assert Item.objects.count() == 1


@pytest.mark.django_db
def test_a_phone_is_told_in_its_own_way_that_somebody_else_writes(
    signed_in, monkeypatch
):
    def locked(*_args, **_kwargs):
        raise OperationalError("database is locked")

    monkeypatch.setattr(entries, "take_entries", locked)
    answer = signed_in.post(
        reverse("stock:count_entries"),
        '{"entries": []}',
        content_type="application/json",
    )

    assert (answer.status_code, answer["Retry-After"]) == (503, "5")
    assert answer.json() == {"sentence": BUSY.sentence}


@pytest.mark.django_db
def test_a_page_says_that_it_was_not_saved_yet_wherever_the_lock_was_met(
    client, monkeypatch
):
    def locked(*_args, **_kwargs):
        raise OperationalError("database is locked")

    monkeypatch.setattr(bakery_time, "current_bakery", locked)
    client.raise_request_exception = False
    answer = client.get("/sign-in/")

    assert answer.status_code == 503
    assert "Not saved yet" in answer.content.decode()


@ON_SQLITE
@pytest.mark.django_db(transaction=True)
def test_a_form_gives_up_when_the_wait_is_over(writer, monkeypatch):
    ada = build_without_lock(writer)
    client = Client()
    client.force_login(ada)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout = 50")
    writer.execute("BEGIN IMMEDIATE")

    answer = client.post(reverse("stock:add_place"), {"place": "loft"})

    assert answer.status_code == 503


def build_without_lock(writer):
    writer.execute("ROLLBACK")
    return build.user("ada")
