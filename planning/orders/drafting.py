"""Drafts of the orders that a plan suggests: one a truck, numbered, with its reasons.

Drafts do not count as on order; what people do with them is in `orders`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from planning.engine.kitchen import SupplierDay
from planning.engine.plan import SuggestedLine, SuggestedOrder
from planning.models import Order, OrderLine
from planning.orders.numbers import next_number
from planning.orders.orders import record_step
from planning.plan.planner import Planned, make_plan
from planning.search.errors import SearchOutOfDateError
from planning.search.searching import (
    as_chosen,
    go_by_usual_rule,
    search_by_id,
    with_found,
)
from planning.sentences.order_sentences import OrderSentences
from stock.models import Bakery
from stock.saving.upsert import wait_for_turn


@dataclass(frozen=True, slots=True)
class Drafted:
    """What drafting the suggested orders did, by the numbers of the orders."""

    added: tuple[str, ...]
    changed: tuple[str, ...]
    unchanged: tuple[str, ...]
    left: tuple[str, ...]  # a person changed or approved them: they stay
    dropped: tuple[str, ...]  # nobody had touched them, and the plan has moved on


@transaction.atomic
def draft_what_is_needed(
    *, bakery: Bakery, at: datetime | None = None, by_id: int | None = None
) -> Drafted:
    """Plan as of now, or of `at`, and store what the plan suggests as drafts.

    Suggested is what people go by: found orders, if they were drafted before and the
    kitchen is still the same; else the usual rule's.
    """
    wait_for_turn()
    at = at or timezone.now()  # after the wait: what moved meanwhile counts
    planned = as_chosen(make_plan(bakery=bakery, as_of=at))
    return draft_orders(planned, at=at, by_id=by_id)


@transaction.atomic
def draft_found_orders(
    *,
    search_id: int,
    bakery: Bakery,
    at: datetime | None = None,
    by_id: int | None = None,
) -> Drafted:
    """Store what a search found as drafts, and go by it from now on.

    Refuses orders that were found for another kitchen than the one of now.
    """
    wait_for_turn()
    at = at or timezone.now()
    search = search_by_id(search_id)
    planned = with_found(make_plan(bakery=bakery, as_of=at), search)
    if planned is None:
        raise SearchOutOfDateError
    go_by_usual_rule()
    search.drafted_at = at
    search.save(update_fields=["drafted_at"])
    return draft_orders(planned, at=at, by_id=by_id)


@transaction.atomic
def draft_orders(
    planned: Planned, *, at: datetime, by_id: int | None = None
) -> Drafted:
    """Store the plan's suggested orders as drafts, one a truck.

    A draft for the same truck is brought up to date if nobody touched it; one that a
    person changed or approved stays as it is. Drafts that nobody touched and nothing
    suggests any more are deleted. A repeat changes nothing; where the same is asked
    for other reasons, these are brought up to date and the order counts as unchanged.
    """
    wait_for_turn()
    sentences = planned.order_sentences
    year = at.astimezone(planned.bakery.zone).year
    waiting = waiting_by_truck()
    done: dict[str, list[str]] = {
        name: [] for name in ("added", "changed", "unchanged", "left", "dropped")
    }
    for suggested in planned.plan.purchasing.orders:
        truck = truck_of(planned, suggested)
        order = waiting.pop(truck, None)
        if order is None:
            order = Order(
                reference=next_number(year),
                supplier_id=truck.supplier_id,
                deliver_on=truck.deliver_on,
                version=0,
            )
        what = _what_to_do(order, suggested)
        if what in ("added", "changed"):
            _write(order, suggested, sentences, at=at, by_id=by_id)
        elif what == "unchanged":
            _refresh_reasons(order, suggested.lines, sentences, at=at)
        done[what].append(order.reference)
    for order in waiting.values():
        if not is_a_persons(order):
            order.delete()
            done["dropped"].append(order.reference)
    return Drafted(**{what: tuple(references) for what, references in done.items()})


def waiting_by_truck() -> dict[SupplierDay, Order]:
    """Return the orders that were not sent yet, with their lines. Two queries.

    Of two for one truck, the one that a person touched.
    """
    orders = Order.objects.filter(state__in=Order.UNSENT_STATES)
    found: dict[SupplierDay, Order] = {}
    for order in orders.prefetch_related("lines"):
        truck = SupplierDay(order.supplier_id, order.deliver_on)
        if truck not in found or is_a_persons(order):
            found[truck] = order
    return found


def truck_of(planned: Planned, suggested: SuggestedOrder) -> SupplierDay:
    """Return the delivery that a suggested order is for."""
    supplier = planned.kitchen.suppliers[suggested.supplier]
    return SupplierDay(supplier.supplier_id, suggested.deliver_on)


def is_a_persons(order: Order) -> bool:
    """Whether a person changed or approved it, so that no plan replaces it."""
    return order.changed_by_hand or order.state != Order.State.DRAFT


def is_as_suggested(order: Order, suggested: SuggestedOrder) -> bool:
    """Whether a stored order asks for all that is suggested, and nothing else."""
    stored = {line.pack_id: (line.packs, line.price) for line in order.lines.all()}
    return order.order_by == suggested.order_by and stored == {
        line.pack.pack_id: (line.packs, line.price) for line in suggested.lines
    }


def _what_to_do(order: Order, suggested: SuggestedOrder) -> str:
    if order.pk is None:
        return "added"
    if is_a_persons(order):
        return "left"
    return "unchanged" if is_as_suggested(order, suggested) else "changed"


def _refresh_reasons(
    order: Order,
    suggested: Sequence[SuggestedLine],
    sentences: OrderSentences,
    *,
    at: datetime,
) -> None:
    """Say why as of this plan: the figures in the reasons age."""
    order.reasons_at = at
    order.save(update_fields=["reasons_at"])
    because = {line.pack.pack_id: list(sentences.because(line)) for line in suggested}
    stale = [
        line for line in order.lines.all() if line.because != because[line.pack_id]
    ]
    for line in stale:
        line.because = because[line.pack_id]
    OrderLine.objects.bulk_update(stale, ["because"])


def _write(
    order: Order,
    suggested: SuggestedOrder,
    sentences: OrderSentences,
    *,
    at: datetime,
    by_id: int | None,
) -> None:
    order.order_by, order.reasons_at = suggested.order_by, at
    order.version += 1
    order.save()
    order.lines.all().delete()
    OrderLine.objects.bulk_create(
        OrderLine(
            order=order,
            pack_id=line.pack.pack_id,
            packs=line.packs,
            price=line.price,
            due_on=suggested.deliver_on,
            because=list(sentences.because(line)),
        )
        for line in suggested.lines
    )
    record_step(order, at=at, by_id=by_id)
