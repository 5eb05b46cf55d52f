"""Jobs are killed half way: nothing is half done, and the repeat finishes once.

A child process does the job and ends itself with SIGKILL at a statement drawn at
random, or just before its commit; so the kill is before the commit, every time.
"""

import os
import random
import signal
import subprocess
import sys
import zipfile
from contextlib import suppress
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.conf import settings
from django.core import serializers
from django.core.management import call_command
from django.db import connection

from planning import searching
from planning.bakeplan import set_status
from planning.demo import build_sheets
from planning.drafting import draft_what_is_needed
from planning.exports import order_files
from planning.interchange.loading import load_kitchen
from planning.models import Order, OrderSearch, PlannedCake
from planning.orders import Hand, approve_order, send_order
from stock.backups.contents import kept_models
from stock.correcting import OnHandRow, set_on_hand
from stock.counting import open_count, post_count, send_to_review, take_entries
from stock.models import Bakery, Count, Item, Place
from stock.verifying import verify_ledger
from tests import build
from tests.build import NOON
from tests.stock.counts import entry

pytestmark = pytest.mark.django_db(transaction=True)

TODAY = date(2026, 5, 4)
QUICK = searching.Asked("quick")
LATER = NOON + timedelta(minutes=5)
HOLDS_UP = 120  # seconds that a child may take at the most


def load():
    load_kitchen(build_sheets(TODAY), at=NOON)


def set_flour():
    flour = Item.objects.get(name="all-purpose flour")
    set_on_hand(OnHandRow(flour.pk, flour.place_id, Decimal(5_000)), at=LATER)


def post():
    post_count(Count.objects.get().pk, at=LATER, as_entered=True)


def draft():
    draft_what_is_needed(bakery=Bakery.objects.get(), at=LATER)


def approve():
    order = Order.objects.filter(state=Order.State.DRAFT).order_by("pk").first()
    if order is not None:
        approve_order(Hand(order.pk, order.version, at=LATER))


def send():
    order = Order.objects.filter(state=Order.State.APPROVED).order_by("pk").first()
    if order is not None:
        send_order(Hand(order.pk, order.version, at=LATER))


def cancel_cake():
    confirmed = PlannedCake.objects.filter(status=PlannedCake.Status.CONFIRMED)
    cake = confirmed.order_by("due_on", "pk").first()
    set_status(cake.pk, PlannedCake.Status.CANCELLED)


def with_a_count():
    place = Place.objects.get(name="dry rack")
    count = open_count(counted_at=NOON, at=NOON, place_ids=[place.pk])
    ada = build.user("ada")
    items = Item.objects.filter(place=place, kind=Item.Kind.INGREDIENT)[:8]
    entries = [entry(count, item, "3 lb") for item in items if item.measure == "mass"]
    take_entries(entries, at=NOON, sent_by_id=ada.pk)
    send_to_review(count.pk)


# Each job with what has to be there before it, besides the demo's kitchen.
JOBS = {
    "load": (load, []),
    "set on hand": (set_flour, [load]),
    "post a count": (post, [load, with_a_count]),
    "draft orders": (draft, [load]),
    "approve an order": (approve, [load, draft]),
    "send an order": (send, [load, draft, approve]),
    "cancel a cake": (cancel_cake, [load]),
}
# Done again, these do the same to another row.
NEXT_ONES_TURN = ("approve an order", "send an order", "cancel a cake")


def everything():
    return {
        model._meta.label: serializers.serialize(
            "python", model._base_manager.order_by("pk")
        )
        for model in kept_models()
    }


def in_a_child(work):
    """Do something in a process of its own; return how that ended, as `os` says it."""
    connection.close()  # a connection is never shared by two processes
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            signal.alarm(HOLDS_UP)
            work()
            os._exit(0)
        os._exit(1)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status)


def statements_of(job):
    """Return how many statements a job takes; nothing of it stays."""
    read, write = os.pipe()

    def count():
        seen = [0]

        def tally(execute, *arguments):
            seen[0] += 1
            return execute(*arguments)

        def tell_and_end():
            os.write(write, str(seen[0]).encode())
            os.kill(os.getpid(), signal.SIGKILL)

        connection._commit = tell_and_end
        with connection.execute_wrapper(tally):
            job()

    in_a_child(count)
    os.close(write)
    with os.fdopen(read) as told:
        return int(told.read())


def killed_at(number, job):
    """Do a job, and be killed before its statement of that number, or its commit."""

    def end(*_):
        os.kill(os.getpid(), signal.SIGKILL)

    def work():
        seen = [0]

        def watch(execute, *arguments):
            seen[0] += 1
            return end() if seen[0] == number else execute(*arguments)

        connection._commit = end
        with connection.execute_wrapper(watch):
            job()

    return in_a_child(work)


@pytest.mark.parametrize("name", JOBS)
def test_a_job_killed_half_way_leaves_nothing_and_its_repeat_finishes_once(
    name, request
):
    job, before = JOBS[name]
    for step in before:
        step()
    kills = max(request.config.getoption("--kills") // len(JOBS), 1)
    draws = random.Random(f"{name} {kills}")
    as_it_was, statements = everything(), statements_of(job)

    at = [statements + 1] + [draws.randint(1, statements) for _ in range(kills - 1)]
    for number in at:
        assert killed_at(number, job) == -signal.SIGKILL
        assert everything() == as_it_was
        assert verify_ledger().is_whole

    assert in_a_child(job) == 0
    done = everything()
    assert done != as_it_was
    assert verify_ledger().is_whole
    if name not in NEXT_ONES_TURN:
        assert in_a_child(job) == 0
        assert everything() == done
    print(
        f"{name}: {kills} kills before the commit, at 1 to {statements + 1} statements"
    )


def test_order_files_cut_off_half_way_are_whole_or_not_there(request, tmp_path):
    load()
    kills = max(request.config.getoption("--kills") // len(JOBS), 1)
    draws = random.Random("files")

    def write():
        call_command("write_orders", out=str(tmp_path), at="2026-05-04T07:00")

    assert in_a_child(write) == 0
    whole = {path.name: zip_or_text(path) for path in tmp_path.iterdir()}
    assert len(whole) > 6

    def killed_at_file(number):
        replaced = [0]
        replace = os.replace

        def replace_or_end(*paths):
            replaced[0] += 1
            if replaced[0] == number:
                os.kill(os.getpid(), signal.SIGKILL)
            replace(*paths)

        def work():
            order_files.os.replace = replace_or_end
            write()

        return in_a_child(work)

    for _ in range(kills):
        for path in tmp_path.iterdir():
            path.unlink()
        number = draws.randint(1, len(whole))
        assert killed_at_file(number) == -signal.SIGKILL
        there = {
            path.name: zip_or_text(path)
            for path in tmp_path.iterdir()
            if not path.name.startswith(".writing-")
        }
        assert len(there) == number - 1
        assert there.items() <= whole.items()

    for left in tmp_path.glob(".writing-*"):
        os.utime(left, (0, 0))
    assert in_a_child(write) == 0
    finished = {path.name for path in tmp_path.glob("[!.]*")}
    assert finished == whole.keys()
    assert list(tmp_path.glob(".writing-*")) == []


def zip_or_text(path):
    """Return what is in a file, but for the moment at which a workbook was saved."""
    if path.suffix != ".xlsx":
        return path.read_text()
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return archive.read("xl/worksheets/sheet1.xml")


def test_a_search_killed_half_way_makes_way_for_the_next(request, monkeypatch):
    monkeypatch.setattr(searching, "_start_worker", lambda search_id: None)
    build.dairy_kitchen()
    kills = max(request.config.getoption("--kills") // 10, 1)
    draws = random.Random("search")
    at = NOON

    for _ in range(kills):
        worker = search_worker(searching.start_search(QUICK, at=at))
        with suppress(subprocess.TimeoutExpired):
            worker.wait(draws.uniform(0.2, 2.0))
        worker.kill()
        assert worker.wait() in (-signal.SIGKILL, 0)
        assert verify_ledger().is_whole
        at += searching.NOT_BEGUN_AFTER + timedelta(seconds=1)

    OrderSearch.objects.update(heartbeat_at=NOON, stage="")
    assert search_worker(searching.start_search(QUICK, at=at)).wait(HOLDS_UP) == 0
    assert OrderSearch.objects.first().state in OrderSearch.FOUND_STATES


def search_worker(search_id):
    """Start the worker of a search as the site does, on the test's database."""
    at = connection.settings_dict
    url = f"sqlite:///{at['NAME']}"
    if connection.vendor == "postgresql":
        url = f"postgresql://{at['USER']}@{at['HOST']}:{at['PORT']}/{at['NAME']}"
    return subprocess.Popen(
        [
            *(sys.executable, str(settings.BASE_DIR / "manage.py")),
            *("look_for_orders", str(search_id)),
        ],
        env={**os.environ, "DATABASE_URL": url},
    )
