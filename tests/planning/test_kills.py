"""Jobs are killed half way: nothing is half done, and the repeat finishes once.

Each kill is at a statement or a moment drawn at random, before the commit every time;
`killing` says how that is known.
"""

import os
import random
import signal
import subprocess
import sys
import zipfile
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.conf import settings
from django.core import serializers
from django.core.management import call_command
from django.db import connection, transaction

from planning.bakeplan.planned_cakes import (
    keep_planned_cakes,
    planned_cake_entries,
    set_status,
)
from planning.baking.entries import Baker, MakeEntry
from planning.baking.making import make_recipe
from planning.demo import build_sheets
from planning.exports import order_files
from planning.interchange.loading import load_kitchen
from planning.models import Order, OrderSearch, PlannedCake, Recipe
from planning.orders.drafting import draft_what_is_needed
from planning.orders.orders import Hand, approve_order, send_order
from planning.search import searching
from planning.search.worker import look_for_orders
from stock.backups.contents import kept_models
from stock.counts.counting import open_count, post_count, send_to_review, take_entries
from stock.ledger.correcting import OnHandRow, set_on_hand
from stock.ledger.verifying import verify_ledger
from stock.models import Bakery, Count, Item, Place
from tests import build
from tests.build import NOON
from tests.planning.killing import HOLDS_UP_S, in_a_child, killed, some_kills
from tests.stock.counts import entry

pytestmark = pytest.mark.django_db(transaction=True)

TODAY = date(2026, 5, 4)
QUICK = searching.SearchRequest("quick")
LATER = NOON + timedelta(minutes=5)


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
    order = Order.objects.latest("pk")
    approve_order(Hand(order.pk, version=1, at=LATER))


def send():
    order = Order.objects.latest("pk")
    send_order(Hand(order.pk, version=2, at=LATER))


def change_cake():
    [cake] = planned_cake_entries(ids=[PlannedCake.objects.latest("due_on", "pk").pk])
    keep_planned_cakes([cake | {"quantity": "7"}])


def cancel_cake():
    cake = PlannedCake.objects.latest("due_on", "pk")
    set_status(cake.pk, PlannedCake.Status.CANCELLED)


def make_a_recipe():
    recipe = Recipe.objects.filter(is_cake=False).order_by("pk")[0]
    make_recipe(MakeEntry(recipe.pk, Decimal(2), "tap"), Baker(Bakery.objects.get()))


@transaction.atomic
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
    "change a cake": (change_cake, [load]),
    "cancel a cake": (cancel_cake, [load]),
    "make a recipe": (make_a_recipe, [load]),
}


def everything():
    return {
        model._meta.label: serializers.serialize(
            "python", model._base_manager.order_by("pk")
        )
        for model in kept_models()
    }


@pytest.fixture
def kills(request):
    """How many of the kills each job gets; the files and the search count as jobs."""
    return max(request.config.getoption("--kills") // (len(JOBS) + 2), 1)


@pytest.mark.parametrize("name", JOBS)
def test_a_job_killed_half_way_leaves_nothing_and_its_repeat_finishes_once(
    name, kills, figure
):
    job, before = JOBS[name]
    for step in before:
        step()
    as_it_was, hits = everything(), []

    for hit in some_kills(job, kills, random.Random(f"{name} {kills}")):
        hits.append(hit)
        assert everything() == as_it_was
        assert verify_ledger().is_whole

    assert in_a_child(job) == 0
    done = everything()
    assert done != as_it_was
    assert verify_ledger().is_whole
    assert in_a_child(job) == 0
    assert everything() == done
    figure(
        f"{name}: killed {len(hits)} times before its commit, "
        f"{sum(hit.first_write > 0 for hit in hits)} of them after its first write "
        f"and {sum(hit.at_commit for hit in hits)} at the commit itself; "
        "nothing half done, ledger whole, the repeat finished once"
    )


def test_order_files_cut_off_half_way_are_whole_or_not_there(kills, figure, tmp_path):
    load()
    draws = random.Random("files")

    def write():
        call_command("write_orders", out=str(tmp_path), at="2026-05-04T07:00")

    assert in_a_child(write) == 0
    whole = contents(tmp_path)
    assert len(whole) > 6

    for _ in range(kills):
        for path in tmp_path.iterdir():
            path.unlink()
        number = draws.randint(1, len(whole))
        assert in_a_child(lambda n=number: before_file(n, write)) == -signal.SIGKILL
        there = contents(tmp_path)
        assert len(there) == number - 1
        assert there.items() <= whole.items()

    for left in tmp_path.glob(".writing-*"):
        os.utime(left, (0, 0))
    assert in_a_child(write) == 0
    assert contents(tmp_path).keys() == whole.keys()
    assert list(tmp_path.glob(".writing-*")) == []
    figure(
        f"write_orders: killed {kills} times before one of {len(whole)} files was in "
        "place; each is whole or not there, the repeat wrote all"
    )


def before_file(number, write):
    """Write the files, and be killed when the one of this number is to be named."""
    replace, replaced = os.replace, [0]

    def replace_or_end(*paths):
        replaced[0] += 1
        if replaced[0] == number:
            os.kill(os.getpid(), signal.SIGKILL)
        replace(*paths)

    order_files.os.replace = replace_or_end
    write()


def contents(folder):
    """Return what is in each file of a folder that is not being written just now."""
    return {path.name: zip_or_text(path) for path in folder.glob("[!.]*")}


def zip_or_text(path):
    """Return what is in a file, but for the moment at which a workbook was saved."""
    if path.suffix != ".xlsx":
        return path.read_text()
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return archive.read("xl/worksheets/sheet1.xml")


def test_a_search_killed_half_way_makes_way_for_the_next(kills, figure, monkeypatch):
    monkeypatch.setattr(searching, "_start_worker", lambda search_id: None)
    build.dairy_kitchen()
    draws = random.Random("search")
    at, stages = NOON, []

    for days in (2, 1):  # the first may have machine code to compile
        search_id = searching.start_search(QUICK, at=at - timedelta(days=days))
        whole = killed(lambda pk=search_id: look(pk))
    while len(stages) < kills:
        search_id = searching.start_search(QUICK, at=at)
        killed(lambda pk=search_id: look(pk), after_s=draws.uniform(0, whole.seconds))
        search = OrderSearch.objects.get(pk=search_id)
        if search.state == OrderSearch.State.RUNNING:  # else the kill came too late
            stages.append(search.stage or "not begun")
        assert verify_ledger().is_whole
        at += searching.NOT_BEGUN_AFTER + timedelta(seconds=1)

    OrderSearch.objects.update(heartbeat_at=NOON, stage="")
    assert search_worker(searching.start_search(QUICK, at=at)).wait(HOLDS_UP_S) == 0
    assert OrderSearch.objects.first().state in OrderSearch.FOUND_STATES
    reached = ", ".join(
        f"{stage} {stages.count(stage)}" for stage in sorted(set(stages))
    )
    figure(
        f"search: killed {kills} times before it had an answer ({reached}); "
        "the next search found its orders"
    )


def look(search_id):
    look_for_orders(search_id, now=lambda: NOON, sign_every_s=0.05)


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
