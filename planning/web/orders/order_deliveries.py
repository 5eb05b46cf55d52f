"""What came of an order so far, for its page."""

from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from planning.models import Delivery, Order
from planning.orders.undoing_deliveries import in_the_way
from planning.sentences.words import capitalized
from planning.web.label_links import labels_of
from planning.web.orders.order_words import deliver_words
from planning.wording.delivery_words import delivery_words
from stock.models import Bakery
from stock.templatetags.words import moment_words
from stock.wording.names import person_name


@dataclass(frozen=True, slots=True)
class DeliveryRow:
    """One delivery in a sentence, whether it may be undone today, and why not."""

    delivery: Delivery
    words: str
    can_undo: bool
    in_the_way: str  # of one of today
    labels_url: str  # the labels of what it brought; blank if it was undone


def delivery_rows(
    order: Order, today: date, *, now: datetime, bakery: Bakery
) -> list[DeliveryRow]:
    """Return the deliveries of an order, the latest first.

    Two queries, and six for each of today that stands.
    """
    rows = order.deliveries.select_related("by", "undone_by").prefetch_related(
        "lines__line__pack__item"
    )
    found = []
    for row in rows.order_by("-pk"):
        is_todays = (
            row.undone_at is None
            and order.state != Order.State.CANCELLED
            and timezone.localdate(row.at) == today
        )
        reasons = in_the_way(row, at=now, bakery=bakery) if is_todays else []
        stays = (
            _("It can't be undone: {reasons}.").format(reasons="; ".join(reasons))
            if reasons
            else ""
        )
        can_undo = is_todays and not reasons
        labels_url = "" if row.undone_at else labels_of(row.lines.all())
        found.append(DeliveryRow(row, _words(row, today), can_undo, stays, labels_url))
    return found


def _words(row: Delivery, today: date) -> str:
    is_earlier = row.received_on != timezone.localdate(row.at)
    said = _came_words(row, is_earlier=is_earlier).format(
        moment=capitalized(moment_words(row.at, today)),
        person=person_name(row.by),
        deliver=deliver_words(row.received_on, today) if is_earlier else "",
        brought=delivery_words(row.lines.all()),
    )
    if row.undone_at is None:
        return said
    by = row.undone_by
    undone = _("Undone {moment} by {person}.") if by else _("Undone {moment}.")
    moment = moment_words(row.undone_at, today)
    return f"{said} {undone.format(moment=moment, person=person_name(by))}"


def _came_words(row: Delivery, *, is_earlier: bool) -> str:
    """Return the sentence of what came, with names for its parts."""
    if is_earlier:
        return (
            _("{moment} by {person}, came {deliver}: {brought}.")
            if row.by
            else _("{moment}, came {deliver}: {brought}.")
        )
    return (
        _("{moment} by {person}: {brought}.") if row.by else _("{moment}: {brought}.")
    )
