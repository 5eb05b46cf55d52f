"""A full disk: what is said, what is kept, and that it goes on once there is room.

SQLite is given a most number of pages, at which it says what it says of a full disk.
PostgreSQL's disk cannot be filled without harm to whatever else is on it, so that its
own error is raised by a trigger; what the server does to its files is not tried here.
"""

import json
from contextlib import contextmanager

import pytest
from django.db import connection
from django.test import Client

from stock.counts import counting
from stock.database.unsaved import DISK_FULL
from stock.ledger.verifying import verify_ledger
from stock.models import Count, CountEntry, Place
from tests import build
from tests.build import NOON
from tests.web.counts.sending import entry

pytestmark = pytest.mark.django_db(transaction=True)


@contextmanager
def a_full_disk():
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            take_free_pages(cursor)
            cursor.execute("PRAGMA max_page_count = 1")  # never below what is used
            try:
                yield
            finally:
                cursor.execute("PRAGMA max_page_count = 4294967294")
                cursor.execute("DROP TABLE filler")
            return
        cursor.execute(
            "CREATE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
            "RAISE EXCEPTION 'could not extend file' USING ERRCODE = 'disk_full'; "
            "END $$"
        )
        tables = ("stock_place", "stock_countentry", "stock_movement")
        for table in tables:
            cursor.execute(
                f"CREATE TRIGGER full_disk AFTER INSERT ON {table} "
                "EXECUTE FUNCTION full_disk()"
            )
        try:
            yield
        finally:
            cursor.execute("DROP FUNCTION full_disk CASCADE")


def take_free_pages(cursor):
    """Fill what tests before this one have left empty in the file."""
    cursor.execute("CREATE TABLE filler (page BLOB)")
    cursor.execute("PRAGMA page_size")
    [page_bytes] = cursor.fetchone()
    while True:
        cursor.execute("PRAGMA freelist_count")
        [free_pages] = cursor.fetchone()
        if not free_pages:
            return
        cursor.execute("INSERT INTO filler VALUES (zeroblob(%s))", [page_bytes])


@pytest.fixture
def ada():
    browser = Client()
    browser.force_login(build.user("ada"))
    return browser


def add_places_until_refused(ada):
    """Add places of long names; return the names that were taken, and the refusal."""
    taken = []
    for number in range(2_000):
        name = f"rack {number} ".ljust(50, "x")
        answer = ada.post("/shelves/places/add/", {"place": name})
        if answer.status_code != 302:
            return taken, answer
        taken.append(name)
    raise AssertionError("the disk was never full")


def test_a_form_is_told_that_the_disk_is_full_and_goes_on_once_there_is_room(ada):
    with a_full_disk():
        taken, refused = add_places_until_refused(ada)
        again = ada.post("/shelves/places/add/", {"place": "loft".ljust(50, "x")})
        read = ada.get("/shelves/places/")

    assert refused.status_code == again.status_code == 503
    page = refused.content.decode().replace("&#x27;", "'")
    assert "<h1>The disk is full</h1>" in page
    assert DISK_FULL.sentence in page
    assert refused["Retry-After"] == "60"
    assert read.status_code == 200
    assert sorted(Place.objects.values_list("name", flat=True)) == sorted(taken)
    after = ada.post("/shelves/places/add/", {"place": "loft"})
    assert after.status_code == 302
    assert Place.objects.filter(name="loft").exists()


def test_a_phone_is_told_that_the_disk_is_full_and_its_entries_are_taken_later(ada):
    rack = build.place("rack")
    flour = build.item("flour", place=rack)
    count = counting.open_count(counted_at=NOON, at=NOON)
    body = json.dumps(
        {"entries": [entry(count, flour, "2 kg", sequence=n) for n in range(900)]}
    )

    def send():
        return ada.post("/count/entries/", body, content_type="application/json")

    with a_full_disk():
        refused = send()

    assert (refused.status_code, refused.json()) == (
        503,
        {"sentence": DISK_FULL.sentence},
    )
    assert not CountEntry.objects.exists()
    taken = send()
    assert taken.status_code == 200
    assert CountEntry.objects.count() == 900


def test_a_count_that_meets_a_full_disk_is_posted_not_at_all_then_whole(ada):
    rack = build.place("rack")
    items = [build.item(place=rack, on_hand_base=1_000) for _ in range(300)]
    count = counting.open_count(counted_at=NOON, at=NOON)
    entries = [entry(count, item, "2 kg", sequence=n) for n, item in enumerate(items)]
    ada.post("/count/entries/", json.dumps({"entries": entries}), "application/json")
    counting.send_to_review(count.pk)
    post = {"shown": counting.review(count.pk).shown}
    before = verify_ledger()

    with a_full_disk():
        refused = ada.post(f"/count/{count.pk}/post/", post)

    assert refused.status_code == 503
    assert verify_ledger() == before
    assert Count.objects.get().state == Count.State.IN_REVIEW
    assert ada.post(f"/count/{count.pk}/post/", post).status_code == 302
    assert Count.objects.get().state == Count.State.POSTED
    assert verify_ledger().is_whole
    assert verify_ledger().movements == before.movements + 300
