"""What came of an order so far, for its page."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.models import Delivery, DeliveryLine, Order
from planning.orders.undoing_deliveries import in_the_way
from planning.sentences.words import capitalized
from planning.web.label_links import labels_of
from planning.web.orders.order_words import deliver_words
from planning.wording.delivery_words import came_words, delivery_words
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


@dataclass(frozen=True, slots=True)
class VisitRow:
    """Deliveries said as one: all that a person scanned, case by case, in a row.

    Each scan stays a delivery of its own, that is undone by itself.
    """

    words: str  # blank where there is one delivery alone, which says itself
    labels_url: str
    rows: Sequence[DeliveryRow]


def visits(rows: Sequence[DeliveryRow], today: date) -> list[VisitRow]:
    """Return deliveries, the latest first; single packs in a row as one. No query."""
    found = []
    for key, group in groupby(rows, key=_scanned_by):
        alike = list(group)
        if key is None or len(alike) == 1:
            found += [VisitRow("", "", [row]) for row in alike]
            continue
        lines = [line for row in alike[::-1] for line in row.delivery.lines.all()]
        words = _received(alike[-1].delivery, lines, today)
        found.append(VisitRow(words, labels_of(lines), alike))
    return found


def undone_moments(rows: Iterable[DeliveryRow]) -> list[datetime]:
    """Return when deliveries were undone, as their own sentences say. No query."""
    return [row.delivery.undone_at for row in rows if row.delivery.undone_at]


def _scanned_by(row: DeliveryRow) -> tuple[int | None, date, date] | None:
    """Return by whom and when one pack came by itself, as a scan brings it.

    None for any other delivery, and for what was undone.
    """
    delivery, lines = row.delivery, list(row.delivery.lines.all())
    if delivery.undone_at or [(line.packs, line.closes) for line in lines] != [
        (1, False)
    ]:
        return None
    return delivery.by_id, delivery.received_on, timezone.localdate(delivery.at)


def _received(first: Delivery, lines: Sequence[DeliveryLine], today: date) -> str:
    """Return one visit in a sentence: Received today noon by Ann: 6 cases, 3 lots."""
    lots = len({line.lot_id for line in lines})
    many = ngettext("{brought}, {lots} lot", "{brought}, {lots} lots", lots)
    brought = many.format(brought=came_words(lines), lots=lots)
    moment = moment_words(first.at, today)
    return _said(first, _("Received {moment}").format(moment=moment), brought, today)


def _said(row: Delivery, moment: str, brought: str, today: date) -> str:
    """Return when who received what, and when it came where that was earlier."""
    is_earlier = row.received_on != timezone.localdate(row.at)
    return _came_words(row, is_earlier=is_earlier).format(
        moment=moment,
        person=person_name(row.by),
        deliver=deliver_words(row.received_on, today) if is_earlier else "",
        brought=brought,
    )


def _words(row: Delivery, today: date) -> str:
    moment = capitalized(moment_words(row.at, today))
    said = _said(row, moment, delivery_words(row.lines.all()), today)
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
