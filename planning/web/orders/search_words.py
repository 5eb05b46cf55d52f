"""How a search for better orders stands, and what it found beside the usual rule."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

import django_tables2 as tables
from django.utils import timezone

from planning.better_words import better_words, percent_words, stage_words
from planning.engine.words import capitalized
from planning.models import OrderSearch
from planning.planner import Planned
from planning.searching import is_alive, with_found
from planning.web.orders.order_tables import NUM
from stock.templatetags.words import moment_words, money

State = OrderSearch.State


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come that is still at work."""

    search_id: int
    words: str
    facts: list[tuple[str, str, str]]
    is_stopping: bool


def progress_of(search: OrderSearch, currency: str, now: datetime) -> Progress:
    """Return how far a search has come."""
    stage = capitalized(stage_words(search.stage))
    is_stopping = search.stop_asked
    words = "Stopping: the best so far comes in a moment" if is_stopping else stage
    seconds = max(int((now - search.started_at).total_seconds()), 0)
    facts = [("At work for", f"{seconds} s", search.get_effort_display().lower())]
    if search.paid is not None:
        best = money(search.paid, currency)
        facts.append(("Best so far", best, "delivery included"))
    if search.gap is not None:
        above = percent_words(search.gap)
        facts.append(("Above the best possible", above, "at most"))
    return Progress(search.pk, f"{words}.", facts, is_stopping)


def ended_words(search: OrderSearch, now: datetime) -> str:
    """Return why a search has nothing to show; blank if it has."""
    if search.state == State.RUNNING and not is_alive(search, now):
        return (
            "The search stopped unexpectedly, and what it had found is lost. "
            "Start it again."
        )
    if search.state == State.FAILED:
        return f"The search failed. {search.problem}"
    return ""


def stale_words(search: OrderSearch, now: datetime) -> str:
    """Return that what was found belongs to the kitchen of then."""
    when = moment_words(search.started_at, timezone.localdate(now))
    return (
        f"The kitchen has changed since better orders were looked for, {when}: what "
        "was found then no longer fits. Look again."
    )


def found_words(better: Planned, search: OrderSearch, now: datetime) -> str:
    """Return what a search came to, in a sentence."""
    when = moment_words(search.started_at, timezone.localdate(now))
    how = "Stopped early, best so far of" if search.state == State.STOPPED else "Found"
    return f"{how} {when}: {better_words(better)}{_sent_words(better, search)}"


def _sent_words(better: Planned, search: OrderSearch) -> str:
    """Return that some of what was found is on its way; blank if nothing is."""
    count = _sent_count(better, search)
    if not count:
        return ""
    if count == 1:
        return " One of its orders is sent already, and left out here."
    return f" {count} of its orders are sent already, and left out here."


def _sent_count(better: Planned, search: OrderSearch) -> int:
    found = (search.outcome or {})["orders"]
    return len(found) - len(better.plan.purchasing.orders)


def found_in_short(planned: Planned, search: OrderSearch, now: datetime) -> str:
    """Return for the Orders page how the last search stands; blank if it is used."""
    if is_alive(search, now):
        return "Better orders are being looked for just now."
    words = ended_words(search, now)
    if words or search.drafted_at is not None:
        return words
    better = with_found(planned, search)
    if better is None:
        return stale_words(search, now)
    return found_words(better, search, now)


class ComparedTable(tables.Table):
    """Found orders beside the usual rule's, in figures."""

    name = tables.Column("")
    found = tables.Column("Found", attrs=NUM)
    usual = tables.Column("Usual rule", attrs=NUM)

    class Meta:
        orderable = False
        attrs = {"class": "order-list across"}


def compared_table(better: Planned, search: OrderSearch) -> ComparedTable:
    """Return what a search found beside what the usual rule comes to."""
    found, usual = better.plan.purchasing, better.usual or better.plan.purchasing
    currency = better.bakery.currency

    def in_money(name: str, found: Decimal, usual: Decimal) -> dict[str, object]:
        return {
            "name": name,
            "found": money(found, currency),
            "usual": money(usual, currency),
        }

    left = search.outcome or {}
    rows = [
        in_money("Goods and delivery", found.total_cost, usual.total_cost),
        in_money("Delivery alone", found.fees, usual.fees),
        {
            "name": "Deliveries",
            "found": len(found.orders),
            "usual": len(usual.orders),
        },
    ]
    if not _sent_count(better, search):  # what is left is known for all of it alone
        worth = in_money(
            "Worth of what is left over at the end",
            Decimal(left["left"]),
            Decimal(left["usual_left"]),
        )
        rows.append(worth)
    table = ComparedTable(rows)
    table.caption = f"What was found beside the usual rule, money in {currency}."
    return table
