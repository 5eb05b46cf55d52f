"""Searches for better orders: one at a time, stopped, failed, lost, out of date."""

import sys
import threading
from datetime import timedelta
from decimal import Decimal

import pytest
from django.core.management import CommandError, call_command

from planning.engine.ordering.instance.wishes import KeptWishes
from planning.models import Order, OrderSearch, PlannedCake, Recipe, RecipeLine
from planning.orders.drafting import draft_found_orders, draft_what_is_needed
from planning.plan.planner import EFFORTS, make_plan, with_better_orders
from planning.search import searching, worker
from planning.search.errors import (
    NoSuchSearchError,
    SearchOutOfDateError,
    SearchRunningError,
)
from planning.search.searching import (
    LOST,
    LOST_AFTER,
    NOT_BEGUN_AFTER,
    WAITING,
    SearchRequest,
    as_chosen,
    go_by_usual_rule,
    is_alive,
    last_search,
    start_search,
    stop_search,
    with_found,
)
from planning.search.worker import UNEXPECTED, look_for_orders
from stock.models import Bakery, Item, Pack, Supplier
from tests import build
from tests.build import MONDAY, NOON

pytestmark = pytest.mark.django_db

State = OrderSearch.State
TUESDAY, SATURDAY = MONDAY + timedelta(days=1), MONDAY + timedelta(days=5)
LATER = NOON + timedelta(minutes=5)
QUICK = SearchRequest("quick")


@pytest.fixture
def kitchen():
    build.dairy_kitchen()
    return Bakery.objects.get()


def plan(kitchen, at=NOON):
    return make_plan(bakery=kitchen, as_of=at)


def later():
    return LATER


def search(asked=QUICK):
    """Start a search and let its worker do its work, here and now."""
    search_id = start_search(asked, at=NOON)
    look_for_orders(search_id, now=later)
    return OrderSearch.objects.get(pk=search_id)


def start_search_without_a_worker(monkeypatch):
    """A search that is really stored, and waits for the test to do its work."""
    monkeypatch.setattr(searching, "_start_worker", lambda search_id: None)
    return start_search(QUICK, at=NOON)


def words_on_the_way(monkeypatch):
    """Every stage that a worker writes, with the money beside it."""
    told = []
    write = worker._Watch.write

    def listening(watch, **values):
        if "stage" in values:
            told.append((values["stage"], values.get("paid")))
        write(watch, **values)

    monkeypatch.setattr(worker._Watch, "write", listening)
    return told


def test_a_search_keeps_what_it_found_and_how_it_stands(kitchen):
    found = search()

    assert (found.state, found.paid, found.gap) == (State.DONE, Decimal("28.00"), 0)
    assert found.heartbeat_at == LATER
    assert found.stage
    better = with_found(plan(kitchen), found)
    [order] = better.plan.purchasing.orders
    assert [(line.pack.label, line.packs) for line in order.lines] == [
        ("brick", 1),
        ("bag", 1),
    ]
    assert (order.deliver_on, order.total_cost) == (TUESDAY, Decimal("28.00"))
    assert all(line.because for line in order.lines)
    assert len(better.usual.orders) == 2


def test_a_kitchen_replaced_while_a_search_is_at_work_does_not_end_it(
    kitchen, monkeypatch
):
    started = start_search_without_a_worker(monkeypatch)
    moments = iter(range(1_000))

    def replaced_meanwhile():
        if next(moments) == 2:  # the kitchen has been read by then
            for rows in (PlannedCake, RecipeLine, Recipe, Pack, Item):
                rows.objects.all().delete()
        return LATER

    look_for_orders(started, now=replaced_meanwhile)

    assert not Item.objects.exists()
    assert OrderSearch.objects.get(pk=started).state == State.DONE


def test_the_worker_is_started_once_the_search_is_stored(
    kitchen, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks() as callbacks:
        start_search(QUICK, at=NOON)

    assert len(callbacks) == 1


def test_one_search_runs_at_a_time(kitchen):
    start_search(QUICK, at=NOON)

    with pytest.raises(SearchRunningError):
        start_search(QUICK, at=NOON + NOT_BEGUN_AFTER)
    assert OrderSearch.objects.count() == 1


@pytest.mark.parametrize(
    ("stage", "patience"), [("pricing", LOST_AFTER), ("", NOT_BEGUN_AFTER)]
)
def test_a_search_without_a_sign_of_life_makes_way_for_another(
    kitchen, stage, patience
):
    lost_id = start_search(QUICK, at=NOON)
    OrderSearch.objects.update(stage=stage)
    assert is_alive(last_search(), NOON + patience)

    moment = NOON + patience + timedelta(seconds=1)
    search_id = start_search(QUICK, at=moment)

    assert last_search().pk == search_id
    with pytest.raises(OrderSearch.DoesNotExist):
        look_for_orders(lost_id, now=later)


@pytest.mark.parametrize(
    ("stage", "patience"), [("pricing", LOST_AFTER), ("", NOT_BEGUN_AFTER)]
)
def test_a_sign_of_life_from_the_future_holds_nobody_up(kitchen, stage, patience):
    start_search(QUICK, at=NOON)
    OrderSearch.objects.update(stage=stage)
    assert is_alive(last_search(), NOON - patience)  # a clock set back a little

    search_id = start_search(QUICK, at=NOON - timedelta(hours=1))

    assert last_search().pk == search_id


def test_a_stopped_search_keeps_its_best_so_far(kitchen):
    search_id = start_search(QUICK, at=NOON)
    assert stop_search(search_id)

    look_for_orders(search_id, now=later)

    stopped = OrderSearch.objects.get(pk=search_id)
    assert stopped.state == State.STOPPED
    assert stopped.paid <= Decimal("43.00")
    assert with_found(plan(kitchen), stopped) is not None
    assert not stop_search(search_id)


def test_a_plan_that_cannot_be_made_fails_the_search_in_words(kitchen):
    first, second = build.recipe("Dough"), build.recipe("Starter")
    build.recipe_lines(first, [(second, 10)])
    build.recipe_lines(second, [(first, 10)])

    failed = search()

    assert failed.state == State.FAILED
    assert "contains itself" in failed.problem


def test_what_nobody_foresaw_fails_the_search_and_is_raised(kitchen):
    search_id = start_search(SearchRequest("heroic"), at=NOON)

    with pytest.raises(KeyError):
        look_for_orders(search_id, now=later)

    failed = OrderSearch.objects.get(pk=search_id)
    assert (failed.state, failed.problem) == (State.FAILED, UNEXPECTED)


def test_a_worker_whose_search_was_given_up_changes_nothing(kitchen):
    search_id = start_search(QUICK, at=NOON)
    rows = OrderSearch.objects.filter(pk=search_id)

    def given_up():
        rows.update(state=State.FAILED)
        return LATER

    look_for_orders(search_id, now=given_up)

    assert rows.get().state == State.FAILED
    assert rows.get().outcome is None


def test_suppliers_are_left_out_or_preferred(kitchen):
    far = build.supplier("Far Dairy", delivery_fee=40)
    for name in ("butter", "sugar"):
        build.pack(Item.objects.get(name=name), far, size_base=500, price="12")
    dairy = Supplier.objects.get(name="Dairy")

    left_out = search(SearchRequest("quick", KeptWishes(left_out=(dairy.pk,))))
    preferred = search(SearchRequest("quick", KeptWishes(preferred=(far.pk,))))

    # Two packs at 12 and one truck at 40.
    assert left_out.paid == preferred.paid == Decimal("64.00")


@pytest.mark.parametrize(
    "change",
    [
        lambda: build.stock(Item.objects.get(name="butter"), 100),
        lambda: Supplier.objects.update(delivery_fee=14),
        lambda: build.planned_cake(due_on=SATURDAY),
        lambda: Bakery.objects.update(closed_days="Thu"),
    ],
    ids=["on hand", "a fee", "a cake", "a closed day"],
)
def test_found_orders_belong_to_the_kitchen_they_were_found_for(kitchen, change):
    found = search()

    change()

    kitchen.refresh_from_db()
    assert with_found(plan(kitchen), found) is None
    with pytest.raises(SearchOutOfDateError):
        draft_found_orders(search_id=found.pk, bakery=kitchen, at=LATER)
    assert not Order.objects.exists()


def test_drafting_found_orders_goes_by_them_from_then_on(kitchen):
    draft_what_is_needed(bakery=kitchen, at=NOON)
    found = search()

    drafted = draft_found_orders(search_id=found.pk, bakery=kitchen, at=LATER)
    again = draft_what_is_needed(bakery=kitchen, at=LATER)

    assert (drafted.changed, drafted.dropped) == (("2026-001",), ("2026-002",))
    assert again.unchanged == ("2026-001",)
    assert as_chosen(plan(kitchen)).usual is not None


def test_another_search_leaves_the_orders_that_are_gone_by(kitchen):
    found = search()
    draft_found_orders(search_id=found.pk, bakery=kitchen, at=LATER)

    start_search(QUICK, at=LATER)

    assert as_chosen(plan(kitchen)).usual is not None


def test_the_usual_rule_can_be_gone_by_again(kitchen):
    found = search()
    draft_found_orders(search_id=found.pk, bakery=kitchen, at=LATER)

    go_by_usual_rule()

    assert as_chosen(plan(kitchen)).usual is None


def test_a_search_that_is_gone_is_not_drafted(kitchen):
    with pytest.raises(NoSuchSearchError):
        draft_found_orders(search_id=404, bakery=kitchen, at=LATER)


def test_a_search_that_is_lost_is_known_within_ten_seconds(kitchen):
    ten_seconds = timedelta(seconds=10)

    # A page that looks again every other second has two more to see it.
    assert LOST_AFTER + timedelta(seconds=2) <= ten_seconds


@pytest.mark.django_db(transaction=True)
def test_a_worker_that_dies_is_known_at_once(kitchen, settings, tmp_path, capfd):
    settings.BASE_DIR = tmp_path  # there is no program there

    start_search(QUICK, at=NOON)

    for thread in threading.enumerate():
        if thread.name == WAITING:
            thread.join()
    lost = last_search()
    assert (lost.state, lost.problem) == (State.FAILED, LOST)
    assert "manage.py" in capfd.readouterr().err


def test_a_worker_that_cannot_be_started_says_why(
    kitchen, monkeypatch, tmp_path, django_capture_on_commit_callbacks
):
    monkeypatch.setattr(sys, "executable", str(tmp_path / "no-such-program"))

    with django_capture_on_commit_callbacks(execute=True):
        start_search(QUICK, at=NOON)

    assert last_search().state == State.FAILED
    assert (
        last_search().problem == "It could not be started: No such file or directory."
    )


@pytest.mark.django_db(transaction=True)
def test_signs_of_life_and_the_wish_to_stop_pass_while_the_solver_is_at_work(
    kitchen, monkeypatch
):
    search_id = start_search_without_a_worker(monkeypatch)
    signs = []

    def now():
        signs.append(NOON + timedelta(seconds=len(signs)))
        return signs[-1]

    def deaf_until_stopped(planned, *, should_stop, **options):
        while not should_stop():
            if len(signs) > 5:
                stop_search(search_id)
        return with_better_orders(planned, should_stop=should_stop, **options)

    monkeypatch.setattr(worker, "with_better_orders", deaf_until_stopped)
    look_for_orders(search_id, now=now, sign_every_s=0.001)

    assert last_search().state == State.STOPPED
    assert last_search().heartbeat_at > NOON + timedelta(seconds=5)


def test_the_first_word_is_there_before_anything_is_looked_for(kitchen, monkeypatch):
    told = words_on_the_way(monkeypatch)

    search()

    # The usual rule's two trucks, before the search itself has said a word.
    assert told[:2] == [("reading", None), ("usual rule", Decimal("43.00"))]


def test_with_wishes_the_usual_rules_money_is_no_answer(kitchen, monkeypatch):
    far = build.supplier("Far Dairy")
    for name in ("butter", "sugar"):
        build.pack(Item.objects.get(name=name), far, size_base=500, price="12")
    told = words_on_the_way(monkeypatch)

    search(
        SearchRequest(
            "quick", KeptWishes(left_out=(Supplier.objects.get(name="Dairy").pk,))
        )
    )

    assert told[:2] == [("reading", None), ("first orders", None)]


@pytest.mark.django_db(transaction=True)
def test_the_command_does_the_work_of_a_search(kitchen, monkeypatch):
    search_id = start_search_without_a_worker(monkeypatch)

    call_command("look_for_orders", str(search_id))

    assert last_search().state == State.DONE
    with pytest.raises(CommandError, match="no longer there"):
        call_command("look_for_orders", str(search_id))


def test_people_and_programs_know_the_same_efforts():
    assert list(EFFORTS) == OrderSearch.Effort.values
