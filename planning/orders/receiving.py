"""Receiving an order at the door, in one visit or in several.

What came goes into each item's place as a lot; what did not come is still to come, or
is closed. So many packs always come to the same amount, in however many visits.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time
from enum import Enum
from fractions import Fraction
from typing import NamedTuple

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.errors import (
    DeliveryDayError,
    DeliveryFaultsError,
    DeliveryKeyError,
    NothingCameError,
    OrderStateError,
)
from planning.models import Delivery, DeliveryLine, Order, OrderLine
from planning.orders.delivery_checks import (
    CameLine,
    Visit,
    delivery_faults,
    lot_code,
    use_by_of,
)
from planning.orders.orders import (
    Hand,
    check_version,
    locked_order,
    record_step,
    state_words,
)
from stock.calendar.calendar_words import date_words
from stock.conversion.converters import converters_for
from stock.ledger import ledger, sharing
from stock.measures.reading.vocabulary import Notation
from stock.measures.resolution import to_ledger
from stock.models import Bakery, Lot, Movement

NOON = time(12)
State = Order.State
WAYS_OUT = {
    State.DRAFT: gettext_lazy("Approve it and send it first."),
    State.APPROVED: gettext_lazy("Send it first."),
}


class Rest(Enum):
    """What becomes of the lines that nobody names."""

    STAYS = "it is still to come"
    AS_ORDERED = "it has come, as far as it was confirmed; what was not is closed"
    CLOSED = "it will not come any more"


class _Content(NamedTuple):
    """What makes a delivery sent twice the same."""

    line_id: int
    packs: int
    closes: bool
    use_by: date | None
    lot_code: str


@transaction.atomic
def receive_delivery(
    hand: Hand,
    came: Sequence[CameLine] = (),
    *,
    key: str,
    bakery: Bakery,
    rest: Rest = Rest.STAYS,
    received_on: date | None = None,
) -> Delivery:
    """Take what came of an order onto the shelves; return the delivery.

    What becomes of lines that are not named is said by `rest`. All or nothing. The
    same key again changes nothing and returns the first delivery. About 20 queries,
    however many lines.
    """
    order = locked_order(hand)
    lines = {line.pk: line for line in order.lines.select_related("pack__item__place")}
    if known := Delivery.objects.filter(key=key).first():
        return _repeated(known, order, _said(came), lines, rest)
    check_version(order, hand)
    if order.state not in Order.OPEN_STATES:
        raise state_error(order, "received")
    _refuse_strangers(order, came, lines)
    came = _said([*came, *_rest(came, lines, rest)])
    if not came:
        raise NothingCameError(order.reference)
    visit = _visit(came, lines, bakery, received_on)
    if faults := delivery_faults(came, lines, visit):
        raise DeliveryFaultsError(faults)
    delivery = Delivery.objects.create(
        order=order, key=key, received_on=visit.on, at=visit.at, by_id=hand.by_id
    )
    _write_lines(delivery, visit, came, lines)
    settle_state(order, lines.values())
    record_step(order, at=visit.at, by_id=hand.by_id)
    return delivery


def settle_state(order: Order, lines: Iterable[OrderLine]) -> None:
    """Bring an order into the state that its lines say, as its next version."""
    order.state = state_of(lines)
    order.version += 1
    order.save(update_fields=["state", "version"])


def state_of(lines: Iterable[OrderLine]) -> Order.State:
    """Return the state of an order that was sent, as its lines say."""
    rows = list(lines)
    if any(line.packs_to_come for line in rows):
        has_come = any(line.received_packs for line in rows)
        is_begun = has_come or any(line.closed for line in rows)
        return State.PART_RECEIVED if is_begun else State.SENT
    return State.CLOSED if any(row.closed for row in rows) else State.RECEIVED


def state_error(order: Order, done: str) -> OrderStateError:
    """Return why an order in this state cannot be received or set right."""
    way_out = WAYS_OUT.get(State(order.state), _("Set what is on hand on its page."))
    return OrderStateError(order.reference, state_words(order), done, str(way_out))


def _refuse_strangers(
    order: Order, came: Sequence[CameLine], lines: Mapping[int, OrderLine]
) -> None:
    if any(said.line_id not in lines for said in came):
        raise ValueError(f"Not all of these lines are of order {order.reference}")
    if len({said.line_id for said in came}) < len(came):
        raise ValueError(f"A line of order {order.reference} is named twice")


def _said(came: Iterable[CameLine]) -> list[CameLine]:
    """Leave out the lines of which nothing came, and which stay as they are."""
    return [said for said in came if said.packs or said.closes]


def _rest(
    came: Iterable[CameLine], lines: Mapping[int, OrderLine], rest: Rest
) -> list[CameLine]:
    named = {said.line_id for said in came}
    if rest == Rest.STAYS:
        return []
    return [
        CameLine(line.pk, 0, closes=True)
        if rest == Rest.CLOSED
        else CameLine(
            line.pk,
            line.packs_expected,
            closes=line.packs_expected < line.packs_to_come,
        )
        for line in lines.values()
        if line.packs_to_come and line.pk not in named
    ]


def _visit(
    came: Sequence[CameLine],
    lines: Mapping[int, OrderLine],
    bakery: Bakery,
    received_on: date | None,
) -> Visit:
    at = ledger.moment_after_lock(
        lines[said.line_id].pack.item_id for said in came if said.packs
    )
    today = at.astimezone(bakery.zone).date()
    if received_on is not None and received_on > today:
        raise DeliveryDayError(
            _(
                "{date} is still to come. Enter the day on which it came: {date2} "
                "or earlier."
            ).format(date=date_words(received_on), date2=date_words(today))
        )
    return Visit(received_on or today, at, bakery)


def _moved_at(visit: Visit) -> datetime:
    """Return the moment of the movements; of an earlier day nobody knows the hour."""
    if visit.on == visit.today:
        return visit.at
    return datetime.combine(visit.on, NOON, tzinfo=visit.bakery.zone)


def _write_lines(
    delivery: Delivery,
    visit: Visit,
    came: Sequence[CameLine],
    lines: Mapping[int, OrderLine],
) -> None:
    rows = _delivery_lines(delivery, came, lines)
    DeliveryLine.objects.bulk_create(rows)
    moved_at = _moved_at(visit)
    ledger.record(
        [
            ledger.NewMovement(
                item_id=lines[row.line_id].pack.item_id,
                place_id=row.place_id,
                lot_id=row.lot_id,
                kind=Movement.Kind.RECEIVED,
                amount_base=row.amount_base,
                at=moved_at,
                note=movement_note(delivery),
                key=movement_key(delivery, row),
                by_id=delivery.by_id,
            )
            for row in rows
            if row.lot_id is not None and row.place_id is not None
        ]
    )
    for row in rows:
        lines[row.line_id].received_packs += row.packs
        lines[row.line_id].closed |= row.closes
    changed = [lines[row.line_id] for row in rows]
    OrderLine.objects.bulk_update(changed, ["received_packs", "closed"])


def movement_note(delivery: Delivery) -> str:
    """Return what the ledger says of where a movement comes from."""
    return _("Order {reference}").format(reference=delivery.order.reference)


def movement_key(delivery: Delivery, row: DeliveryLine) -> str:
    """Return the ledger's key of what one line of a delivery moved."""
    return f"delivery {delivery.pk}, line {row.line_id}"


def _delivery_lines(
    delivery: Delivery, came: Sequence[CameLine], lines: Mapping[int, OrderLine]
) -> list[DeliveryLine]:
    holds_base = _holds_base(lines[said.line_id] for said in came if said.packs)
    keys = {
        said.line_id: _lot_key(said, lines[said.line_id], delivery.received_on)
        for said in came
        if said.packs
    }
    held = sharing.held_undated_lots() if keys else ()
    keys = {line: sharing.arriving_lot(key, held) for line, key in keys.items()}
    lot_ids = ledger.lots_for(keys.values()) if keys else {}
    rows = []
    for said in came:
        line, key = lines[said.line_id], keys.get(said.line_id)
        row = DeliveryLine(
            delivery=delivery,
            line=line,
            packs=said.packs,
            closes=said.closes and said.packs < line.packs_to_come,
        )
        if key is not None:
            row.lot_id, row.place_id = lot_ids[key], line.pack.item.place_id
            # By the sum so far, so that visits never differ by their rounding.
            before, holds = line.received_packs, holds_base[line.pk]
            row.amount_base = to_ledger((before + said.packs) * holds) - to_ledger(
                before * holds
            )
        rows.append(row)
    return rows


def _lot_key(said: CameLine, line: OrderLine, received_on: date) -> ledger.LotKey:
    use_by = use_by_of(line.pack.item, said.use_by, received_on)
    return ledger.LotKey(line.pack.item_id, use_by, lot_code(said.lot_code) or "")


def _holds_base(lines: Iterable[OrderLine]) -> dict[int, Fraction]:
    """Return what one pack of each line holds, exactly as it is written."""
    rows = list(lines)
    converters = converters_for({line.pack.item_id for line in rows}) if rows else {}
    return {
        line.pk: converters[line.pack.item_id].typed_base(
            line.pack.holds, Notation.PACK
        )
        for line in rows
    }


def _repeated(
    known: Delivery,
    order: Order,
    came: Sequence[CameLine],
    lines: Mapping[int, OrderLine],
    rest: Rest,
) -> Delivery:
    """Return a delivery that was recorded before, if it is what is said again.

    What the rest was is no longer known: of it whatever is stored is right.
    """
    stored = {
        _Content(
            row.line_id,
            row.packs,
            row.closes,
            row.lot.use_by if row.lot else None,
            _said_code(row.lot),
        )
        for row in known.lines.select_related("lot")
    }
    is_same = known.order_id == order.pk and all(each.line_id in lines for each in came)
    if is_same:
        said = {_content(each, lines[each.line_id], known, stored) for each in came}
        is_same = said == stored if rest == Rest.STAYS else said <= stored
    if not is_same:
        raise DeliveryKeyError(order.reference)
    return known


def _said_code(lot: Lot | None) -> str:
    if lot is None:
        return ""
    return lot.code if lot.use_by else sharing.said_code(lot.code)


def _content(
    said: CameLine, line: OrderLine, known: Delivery, stored: set[_Content]
) -> _Content:
    if not said.packs:
        return _Content(line.pk, 0, said.closes, None, "")
    # Whether it closed anything depends on what was to come then: as it is stored.
    closes = any(row.line_id == line.pk and row.closes for row in stored)
    key = _lot_key(said, line, known.received_on)
    return _Content(line.pk, said.packs, closes, key.use_by, key.code)
