"""Undoing a delivery on the day it was recorded, by counter-movements.

Undone is only what nothing later depends on: nothing of it was used, and nobody has
set or counted these shelves since.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

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
from stock.ledger.levels import COUNTING_KINDS, ZERO
from stock.ledger.said_since import Written, said_since_each
from stock.models import Bakery, Balance, Movement

WAY_OUT = gettext_lazy("Set what is on hand on its page instead.")
USED = gettext_lazy("used since")
MOVED = gettext_lazy("moved since")


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
        raise state_error(order, _("received anew"))
    rows = list(delivery.lines.select_related("line__pack__item", "place"))
    came = [row for row in rows if row.packs]
    at = ledger.moment_after_lock(row.line.pack.item_id for row in came)
    if reasons := _reasons(delivery, came, at=at, bakery=bakery):
        raise DeliveryDependedOnError(order.reference, reasons, str(WAY_OUT))
    _write_back(delivery, came, by_id=hand.by_id)
    _reopen(order, rows)
    delivery.undone_at, delivery.undone_by_id = at, hand.by_id
    delivery.save(update_fields=["undone_at", "undone_by"])
    order.changed_at, order.changed_by_id = at, hand.by_id
    order.save(update_fields=["changed_at", "changed_by"])
    return delivery


def in_the_way(delivery: Delivery, *, at: datetime, bakery: Bakery) -> list[str]:
    """Return what keeps a delivery from being undone.

    Nothing is locked: it may change until somebody undoes it. Seven queries at most.
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
    """Return what stands in the way. Six queries."""
    days = [moment.astimezone(bakery.zone).date() for moment in (delivery.at, at)]
    if days[0] != days[1]:
        return [_("it was recorded on an earlier day")]
    if not came:
        return []
    own = list(_own_movements(delivery, came).values_list("pk", "at"))
    newest, moved_at = max(pk for pk, _other in own), own[0][1]
    left = _left_since(came, newest, moved_at)
    return list(dict.fromkeys([*_set_since(came, newest, moved_at), *left]))


def _own_movements(delivery: Delivery, came: Sequence[DeliveryLine]):
    keys = [movement_key(delivery, row) for row in came]
    return Movement.objects.filter(key__in=keys).order_by()


def _set_since(
    came: Sequence[DeliveryLine], newest: int, moved_at: datetime
) -> Iterator[str]:
    """Yield which shelves were set or counted of that moment or later."""
    row_by_shelf = {(row.line.pack.item_id, row.place_id or 0): row for row in came}
    written = [Written(*shelf, moved_at, newest) for shelf in row_by_shelf]
    said = said_since_each(written)
    for row, what in zip(row_by_shelf.values(), said, strict=True):
        if what:
            yield _named(row, what)


def _left_since(
    came: Sequence[DeliveryLine], newest: int, moved_at: datetime
) -> Iterator[str]:
    """Yield what left since of lots that undoing would take below zero."""
    row_by_lot = {(row.place_id, row.lot_id): row for row in came}
    lot_ids = {row.lot_id for row in came}
    balances = Balance.objects.filter(lot_id__in=lot_ids)
    left_base = {(row.place_id, row.lot_id): row.amount_base for row in balances}
    later = Movement.objects.order_by("pk").filter(
        pk__gt=newest, lot_id__in=lot_ids, amount_base__lt=0
    )
    # What a count or a hand set there is told of by `_set_since`.
    for moved in later.exclude(kind__in=COUNTING_KINDS, at__gte=moved_at):
        lot = (moved.place_id, moved.lot_id)
        row = row_by_lot.get(lot)
        if row and left_base.get(lot, ZERO) < row.amount_base:
            yield _named(row, str(MOVED if moved.kind == Movement.Kind.MOVED else USED))


def _named(row: DeliveryLine, what: str) -> str:
    return _("{name} in {place} was {what}").format(
        name=row.line.pack.item.name, place=row.place, what=what
    )


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
