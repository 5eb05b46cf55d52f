"""Searches for better orders: starting one, stopping it, and what it has found.

A search is a row that its worker, a process of its own, fills; see `worker`.
Besides the last search two older ones may be kept: the one whose orders people go by,
and, where the last was asked around wishes, the last without any to compare it with.
"""

import subprocess
import sys
from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from threading import Thread

from django.conf import settings
from django.db import DatabaseError, connection, transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.deliveries import PossibleDelivery, possible_deliveries
from planning.engine.fingerprint import fingerprint
from planning.engine.ordering.instance.wishes import NOTHING_WISHED, KeptWishes
from planning.models import OrderSearch
from planning.plan.planner import Planned, with_orders
from planning.search.errors import (
    NoSuchSearchError,
    SearchMovedOnError,
    SearchRunningError,
)
from planning.search.found_orders import found_from_json, keeps_decided, sent_since
from stock.saving.upsert import wait_for_turn

State = OrderSearch.State

# The worker gives a sign of life every second once it is at work. Until then it reads
# its program, which a busy machine takes its time for.
SECONDS_BETWEEN_SIGNS = 1.0
LOST_AFTER = timedelta(seconds=8)
NOT_BEGUN_AFTER = timedelta(seconds=40)
WAITING = "waiting for a search"
LOST = gettext_lazy(
    "It ended unexpectedly, and what it had found is lost. Start it again."
)


@dataclass(frozen=True, slots=True)
class SearchRequest:
    """What a search is asked for."""

    effort: str
    wishes: KeptWishes = NOTHING_WISHED


ANY_SEARCH = -1  # whichever was the last: nobody has looked


@transaction.atomic
def start_search(
    asked: SearchRequest,
    *,
    at: datetime,
    by_id: int | None = None,
    seen_id: int | None = ANY_SEARCH,
) -> int:
    """Start looking for better orders in the background; return the search's id.

    One search runs at a time. One that gives no sign of life any more is given up.
    `seen_id` is the last search that whoever asks has seen: another is not replaced.
    """
    wait_for_turn()
    searches = list(OrderSearch.objects.all())
    if any(is_alive(search, at) for search in searches):
        raise SearchRunningError
    last_id = searches[0].pk if searches else None
    if seen_id not in (ANY_SEARCH, last_id):
        raise SearchMovedOnError
    _forget_old(searches, asked.wishes)
    search = OrderSearch.objects.create(
        effort=asked.effort,
        wishes=asked.wishes.as_json(),
        started_at=at,
        started_by_id=by_id,
        heartbeat_at=at,
    )
    transaction.on_commit(partial(_start_worker, search.pk))
    return search.pk


def _forget_old(searches: Sequence[OrderSearch], wishes: KeptWishes) -> None:
    """Delete all but the search that people go by.

    Before a search around wishes the last without any stays: they are compared.
    """
    without_wishes = [each.pk for each in searches if _found_without_wishes(each)]
    kept = without_wishes[:1] if wishes.has_any else []
    OrderSearch.objects.filter(drafted_at=None).exclude(pk__in=kept).delete()


def _found_without_wishes(search: OrderSearch) -> bool:
    return not search.wishes and search.state in OrderSearch.FOUND_STATES


def _start_worker(search_id: int) -> None:
    """Start a process of its own, which outlives the request that asks for it.

    As long as this process lives it waits for the other to end, so that a worker that
    dies is known at once; after that its signs of life are what there is.
    """
    manage = str(settings.BASE_DIR / "manage.py")
    try:
        worker = subprocess.Popen(  # noqa: S603 (this very program)
            [sys.executable, manage, "look_for_orders", str(search_id)],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError as error:
        _give_up(
            search_id,
            _("It could not be started: {strerror}.").format(strerror=error.strerror),
        )
        return
    waiting = Thread(
        target=_wait_for, args=(worker, search_id), name=WAITING, daemon=True
    )
    waiting.start()


def _wait_for(worker: subprocess.Popen[bytes], search_id: int) -> None:
    """Wait for a worker to end; what it leaves undone is given up."""
    worker.wait()
    with suppress(DatabaseError):
        _give_up(search_id, str(LOST))
    connection.close()


def _give_up(search_id: int, problem: str) -> None:
    """Note why a search that still seems to run has nothing to show."""
    running = OrderSearch.objects.filter(pk=search_id, state=State.RUNNING)
    running.update(state=State.FAILED, problem=problem)


def is_alive(search: OrderSearch, now: datetime) -> bool:
    """Whether a search runs and has given a sign of life of late."""
    has_begun = bool(search.stage)
    patience = LOST_AFTER if has_begun else NOT_BEGUN_AFTER
    # A clock that was set back leaves a sign in the future: that is no sign of life.
    silence = abs(now - search.heartbeat_at)
    return search.state == State.RUNNING and silence <= patience


def stop_search(search_id: int) -> bool:
    """Ask a search to stop and keep its best so far; return whether it was running."""
    running = OrderSearch.objects.filter(pk=search_id, state=State.RUNNING)
    return bool(running.update(stop_asked=True))


def last_search() -> OrderSearch | None:
    """Return the search that was started last. One query."""
    return OrderSearch.objects.first()


def search_by_id(search_id: int) -> OrderSearch:
    """Return a search, or raise that it is no more. One query."""
    search = OrderSearch.objects.filter(pk=search_id).first()
    if search is None:
        raise NoSuchSearchError
    return search


def fingerprint_of(planned: Planned, *, without_orders: Collection[str] = ()) -> str:
    """Return the fingerprint of the kitchen that a plan is about."""
    return fingerprint(
        planned.kitchen, planned.plan.window, without_orders=without_orders
    )


def with_found(planned: Planned, search: OrderSearch) -> Planned | None:
    """Return the plan with what a search found; None if that no longer holds.

    It holds for the kitchen that it was found for. Found orders that were sent as they
    were found do not make it another kitchen: the rest is still to be ordered. Neither
    do those that were approved, nor deliveries that can no longer be had, as long as
    the rest needs none of them.
    """
    if search.state not in OrderSearch.FOUND_STATES or search.outcome is None:
        return None
    sent = sent_since(planned.kitchen, search.outcome)
    if search.fingerprint != fingerprint_of(planned, without_orders=sent.values()):
        return None
    if not keeps_decided(planned.kitchen, search.outcome, sent):
        return None
    if not set(planned.deliveries) <= _deliveries_then(planned, search):
        return None
    found = found_from_json(
        planned.kitchen,
        planned.deliveries,
        planned.plan.purchasing,
        search.outcome,
        sent,
    )
    return None if found is None else with_orders(planned, found)


def _deliveries_then(planned: Planned, search: OrderSearch) -> set[PossibleDelivery]:
    """Return what could be ordered in this kitchen when a search was started."""
    window = replace(planned.plan.window, as_of=search.started_at)
    return set(possible_deliveries(planned.kitchen, window))


def found_without_wishes(planned: Planned) -> tuple[OrderSearch, Planned] | None:
    """Return the last search without wishes and the plan with what it found. One query.

    None if there was none, or it no longer holds. It stands beside a search with
    wishes: what these cost is the difference.
    """
    found = OrderSearch.objects.filter(wishes={}, state__in=OrderSearch.FOUND_STATES)
    search = found.first()
    better = search and with_found(planned, search)
    return (search, better) if search and better else None


def as_chosen(planned: Planned) -> Planned:
    """Return the plan with the orders that people go by. One query.

    The usual rule's, unless somebody drafted found ones and they still hold; then
    those of them that were not sent yet.
    """
    chosen = OrderSearch.objects.exclude(drafted_at=None).first()
    return (chosen and with_found(planned, chosen)) or planned


def go_by_usual_rule() -> None:
    """Go by the usual rule's orders again."""
    OrderSearch.objects.update(drafted_at=None)
