"""What came of an order so far, for its page."""

from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from planning.engine.words import capitalized
from planning.models import Delivery, Order
from planning.web.orders.order_words import deliver_words
from planning.wording.delivery_words import delivery_words
from stock.templatetags.words import moment_words
from stock.wording.names import person_name


@dataclass(frozen=True, slots=True)
class DeliveryRow:
    """One delivery in a sentence, and whether it may be undone today."""

    delivery: Delivery
    words: str
    can_undo: bool


def delivery_rows(order: Order, today: date) -> list[DeliveryRow]:
    """Return the deliveries of an order, the latest first. Two queries."""
    rows = order.deliveries.select_related("by", "undone_by").prefetch_related(
        "lines__line__pack__item"
    )
    return [
        DeliveryRow(
            row,
            _words(row, today),
            row.undone_at is None
            and order.state != Order.State.CANCELLED
            and timezone.localdate(row.at) == today,
        )
        for row in rows.order_by("-pk")
    ]


def _words(row: Delivery, today: date) -> str:
    by = f" by {person_name(row.by)}" if row.by else ""
    earlier = ""
    if row.received_on != timezone.localdate(row.at):
        earlier = f", came {deliver_words(row.received_on, today)}"
    brought = delivery_words(row.lines.all())
    said = f"{capitalized(moment_words(row.at, today))}{by}{earlier}: {brought}."
    if row.undone_at is None:
        return said
    undone_by = f" by {person_name(row.undone_by)}" if row.undone_by else ""
    return f"{said} Undone {moment_words(row.undone_at, today)}{undone_by}."
