"""An order of flour and milk at the door, and what somebody says came of it."""

from itertools import count

from planning.models import Order
from planning.orders.delivery_checks import CameLine
from planning.orders.orders import Hand
from planning.orders.receiving import receive_delivery
from planning.orders.undoing_deliveries import undo_delivery
from stock.ledger.levels import lots_on_hand
from stock.ledger.verifying import verify_ledger
from stock.models import Bakery, Item
from tests.build import NOON

_keys = count(1)


def hand(order, *, by=None, version=None):
    order.refresh_from_db()
    return Hand(order.pk, version or order.version, NOON, by.pk if by else None)


def receive(order, *packs, key=None, by=None, version=None, on=None, **said):
    """Receive so many packs of each line, in their order; the rest says of the first.

    The ledger is proven after each step.
    """
    lines = order.lines.order_by("pk")[: len(packs)]
    came = [CameLine(line.pk, n) for line, n in zip(lines, packs, strict=True)]
    if said:
        came[0] = CameLine(came[0].line_id, came[0].packs, **said)
    delivery = receive_delivery(
        hand(order, by=by, version=version),
        came,
        key=key or f"page {next(_keys)}",
        bakery=Bakery.objects.get(),
        received_on=on,
    )
    assert verify_ledger().is_whole
    return delivery


def undo(delivery, *, by=None, version=None):
    undone = undo_delivery(
        hand(delivery.order, by=by, version=version),
        delivery.pk,
        bakery=Bakery.objects.get(),
    )
    assert verify_ledger().is_whole
    return undone


def lots():
    """What is on hand: item's name, use-by, lot and amount."""
    return [
        (names()[lot.item_id], lot.use_by, lot.code, lot.amount_base)
        for lot in lots_on_hand()
    ]


def names():
    return dict(Item.objects.values_list("pk", "name"))


def state(order):
    return Order.objects.values_list("state", flat=True).get(pk=order.pk)
