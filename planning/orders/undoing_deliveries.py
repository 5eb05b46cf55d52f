"""Undoing a delivery on the day it was recorded, by counter-movements.

Undone is only what nothing later depends on: nothing of it was used, and nobody has
set or counted these shelves since.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from django.db import transaction

from planning.errors import DeliveryDependedOnError, NoSuchDeliveryError
from planning.models import Delivery, DeliveryLine, Order, OrderLine
from planning.orders.orders import Hand, check_version, locked_order
from planning.orders.receiving import (
    movement_key,
    movement_note,
    settle_state,
    state_error,
)
from stock.ledger import ledger
from stock.ledger.confirming import confirmed_since
from stock.ledger.levels import COUNTING_KINDS, ZERO
from stock.models import Bakery, Balance, CountResult, Movement

WAY_OUT = "Set what is on hand on its page instead."
COUNTED = "counted or set since"
USED = "used since"
MOVED = "moved since"


class _Shelf(NamedTuple):
    """An item in a place."""

    item_id: int
    place_id: int | None


@transaction.atomic
def undo_delivery(hand: Hand, delivery_id: int, *, bakery: Bakery) -> Delivery:
    """Take back what a delivery of today wrote; what it brought is still to come.

    Undoing again changes nothing. A fixed number of queries, however many lines.
    """
    order = locked_order(hand)
    delivery = order.deliveries.filter(pk=delivery_id).first()
    if delivery is None:
        raise NoSuchDeliveryError(order.reference)
    if delivery.undone_at is not None:
        return delivery
    check_version(order, hand)
    if order.state == Order.State.CANCELLED:
        raise state_error(order, "received anew")
    rows = list(delivery.lines.select_related("line__pack__item", "place"))
    came = [row for row in rows if row.packs]
    at = ledger.moment_after_lock(row.line.pack.item_id for row in came)
    if reasons := _reasons(delivery, came, at=at, bakery=bakery):
        raise DeliveryDependedOnError(order.reference, reasons, WAY_OUT)
    _write_back(delivery, came, by_id=hand.by_id)
    _reopen(order, rows)
    delivery.undone_at, delivery.undone_by_id = at, hand.by_id
    delivery.save(update_fields=["undone_at", "undone_by"])
    order.changed_at, order.changed_by_id = at, hand.by_id
    order.save(update_fields=["changed_at", "changed_by"])
    return delivery


def in_the_way(delivery: Delivery, *, at: datetime, bakery: Bakery) -> list[str]:
    """Return what keeps a delivery from being undone.

    Nothing is locked: it may change until somebody undoes it. Six queries at most.
    """
    rows = delivery.lines.select_related("line__pack__item", "place")
    came = [row for row in rows if row.packs]
    return _reasons(delivery, came, at=at, bakery=bakery)


def _reasons(
    delivery: Delivery,
    came: Sequence[DeliveryLine],
    *,
    at: datetime,
    bakery: Bakery,
) -> list[str]:
    """Return what stands in the way. Five queries."""
    days = [moment.astimezone(bakery.zone).date() for moment in (delivery.at, at)]
    if days[0] != days[1]:
        return ["it was recorded on an earlier day"]
    if not came:
        return []
    own = list(_own_movements(delivery, came).values_list("pk", "at"))
    newest, moved_at = max(pk for pk, _ in own), own[0][1]
    return list(
        dict.fromkeys(
            [
                *_moved_since(came, newest, moved_at),
                *_counted_since(came, newest, moved_at),
            ]
        )
    )


def _own_movements(delivery: Delivery, came: Sequence[DeliveryLine]):
    keys = [movement_key(delivery, row) for row in came]
    return Movement.objects.filter(key__in=keys).order_by()


def _moved_since(
    came: Sequence[DeliveryLine], newest: int, moved_at: datetime
) -> Iterator[str]:
    """Yield what was set since, and what left of lots that it would take below zero."""
    row_by_lot = {(row.place_id, row.lot_id): row for row in came}
    names = _names(came)
    balances = Balance.objects.filter(lot_id__in={row.lot_id for row in came})
    left_base = {(row.place_id, row.lot_id): row.amount_base for row in balances}
    later = Movement.objects.order_by("pk").filter(
        pk__gt=newest, item_id__in={shelf.item_id for shelf in names}
    )
    for moved in later:
        shelf = _Shelf(moved.item_id, moved.place_id)
        lot = (moved.place_id, moved.lot_id)
        row, left = row_by_lot.get(lot), left_base.get(lot, ZERO)
        is_set = moved.kind in COUNTING_KINDS and moved.at >= moved_at
        if is_set and shelf in names:
            yield f"{names[shelf]} was {COUNTED}"
        elif row and moved.amount_base < 0 and left < row.amount_base:
            is_move = moved.kind == Movement.Kind.MOVED
            yield f"{names[shelf]} was {MOVED if is_move else USED}"


def _counted_since(
    came: Sequence[DeliveryLine], newest: int, moved_at: datetime
) -> Iterator[str]:
    """Yield what was found since, by a count or else: also just as on record."""
    names = _names(came)
    item_ids = {shelf.item_id for shelf in names}
    counted = CountResult.objects.filter(
        count__counted_at__gte=moved_at, item_id__in=item_ids
    )
    confirmed = confirmed_since(newest, at=moved_at, item_ids=item_ids)
    shelves = ("item_id", "place_id")
    for shelf in [*counted.values_list(*shelves), *confirmed.values_list(*shelves)]:
        if _Shelf(*shelf) in names:
            yield f"{names[_Shelf(*shelf)]} was {COUNTED}"


def _names(came: Sequence[DeliveryLine]) -> dict[_Shelf, str]:
    return {
        _Shelf(row.line.pack.item_id, row.place_id): (
            f"{row.line.pack.item.name} in {row.place}"
        )
        for row in came
    }


def _write_back(
    delivery: Delivery, came: Sequence[DeliveryLine], *, by_id: int | None
) -> None:
    """Write counter-movements at the moment of what they undo.

    So a count that began since, and is posted later, stands as it was counted.
    """
    rows = _own_movements(delivery, came)
    ledger.record(
        [
            ledger.NewMovement(
                item_id=row.item_id,
                place_id=row.place_id,
                lot_id=row.lot_id,
                kind=Movement.Kind.RECEIVED,
                amount_base=-row.amount_base,
                at=row.at,
                note=f"{movement_note(delivery)} undone",
                key=f"{row.key} undone",
                by_id=by_id,
            )
            for row in rows
        ]
    )
    ledger.forget_undone({row.line.pack.item_id for row in came})


def _reopen(order: Order, rows: Sequence[DeliveryLine]) -> None:
    lines = {line.pk: line for line in order.lines.all()}
    for row in rows:
        line = lines[row.line_id]
        line.received_packs = max(line.received_packs - row.packs, 0)
        line.closed = line.closed and not row.closes
    OrderLine.objects.bulk_update(lines.values(), ["received_packs", "closed"])
    settle_state(order, lines.values())
