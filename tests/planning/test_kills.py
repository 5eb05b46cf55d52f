"""Jobs are killed half way: nothing is half done, and the repeat finishes once.

A child process does the job and ends itself with SIGKILL at a statement drawn at
random, or just before its commit; so the kill is before the commit, every time.
"""

import os
import random
import signal
from contextlib import suppress
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core import serializers
from django.db import connection

from planning.bakeplan import set_status
from planning.demo import build_sheets
from planning.drafting import draft_what_is_needed
from planning.interchange.loading import load_kitchen
from planning.models import Order, PlannedCake
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
