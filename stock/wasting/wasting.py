"""Wasting an item, and undoing it: the jobs."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from stock.conversion import converters
from stock.ledger import ledger, sharing
from stock.ledger.levels import ZERO
from stock.ledger.said_since import Written, said_since_each
from stock.measures.amount_words import amount_words
from stock.measures.conversion import Converter
from stock.measures.resolution import to_ledger
from stock.models import Movement, Place, Waste
from stock.wasting.errors import (
    MoreThanOnRecordError,
    NothingWastedError,
    SetSinceWasteError,
    UnknownReasonError,
    WastedAlreadyError,
)
from stock.wasting.quantities import within_record
from stock.wasting.wording import waste_words


@dataclass(frozen=True, slots=True)
class WasteEntry:
    """So much of an item, from one place, for a reason."""

    item_id: int
    place_id: int
    amount_base: Decimal
    reason: str  # of Waste.Reason
    lot_id: int | None = None  # None: the earliest use-by first
    beyond_record: bool = False  # somebody said that it was more than is on record


@transaction.atomic
def waste(entry: WasteEntry, *, key: str, by_id: int | None = None) -> Waste:
    """Take an amount off the record, and return the waste that it is kept as.

    Of several lots the earliest use-by goes first. More than is on record is refused
    unless the entry says so; then what was not there is owed by the last lot, and the
    record is below nothing until somebody counts. A repeat of the key returns what it
    recorded; with other contents it is refused. 11 queries for one lot.
    """
    moment = ledger.moment_after_lock([entry.item_id])
    converter = converters.converters_for([entry.item_id])[entry.item_id]
    amount_base = _checked(entry, converter)
    known = Waste.objects.select_related("item", "place").filter(key=key).first()
    if known is not None:
        return _repeated(known, entry, amount_base, converter)
    place = Place.objects.get(pk=entry.place_id)
    on_hand = sharing.lots_to_take(
        item_id=entry.item_id, place_id=entry.place_id, lot_id=entry.lot_id
    )
    amount_base = _on_record(entry, amount_base, on_hand, place.name, converter)
    row = Waste.objects.create(
        key=key,
        item_id=entry.item_id,
        place=place,
        lot_id=entry.lot_id,
        reason=entry.reason,
        amount_base=amount_base,
        at=moment,
        by_id=by_id,
    )
    taken = sharing.share_out(amount_base, on_hand)
    taken = taken or {_nowhere_lot(entry): amount_base}
    _record(row, {lot_id: -base for lot_id, base in taken.items()}, by_id=by_id)
    return row


@transaction.atomic
def undo_waste(waste_id: int, *, by_id: int | None = None) -> Waste:
    """Put back what a waste took, as of its own moment; return it.

    A count of that moment or later reads the shelf as if nothing had been wasted.
    Refused once somebody has set, imported or counted the shelf since: what they said
    counts. Undoing again changes nothing. Nine queries.
    """
    row = Waste.objects.select_related("item", "place").get(pk=waste_id)
    ledger.lock_items([row.item_id])
    row.refresh_from_db(fields=["undone_at"])
    if row.undone_at is not None:
        return row
    _refuse_set_since(row)
    movements = row.movements.order_by().values_list("lot_id", "amount_base")
    _record(row, {lot: -amount for lot, amount in movements}, by_id=by_id)
    row.undone_at, row.undone_by_id = timezone.now(), by_id
    row.save(update_fields=["undone_at", "undone_by"])
    return row


def in_the_way(rows: Sequence[Waste]) -> list[str]:
    """Return of each waste what forbids undoing it: counted since; "" for nothing.

    Four queries, however many.
    """
    if not rows:
        return []
    movements = Movement.objects.order_by().filter(waste__in=rows)
    newest = dict(movements.values_list("waste_id").annotate(Max("pk")))
    return said_since_each(
        [Written(row.item_id, row.place_id, row.at, newest[row.pk]) for row in rows]
    )


def _checked(entry: WasteEntry, converter: Converter) -> Decimal:
    if entry.reason not in Waste.Reason.values:
        known = [reason.label.lower() for reason in Waste.Reason]
        raise UnknownReasonError(entry.reason, known)
    ledger.check_amounts([(entry.item_id, entry.amount_base)])
    amount_base = to_ledger(entry.amount_base)
    if amount_base <= 0:
        raise NothingWastedError(converter.item_name)
    return amount_base


def _repeated(
    known: Waste, entry: WasteEntry, amount_base: Decimal, converter: Converter
) -> Waste:
    same = (known.item_id, known.place_id, known.lot_id, known.reason) == (
        entry.item_id,
        entry.place_id,
        entry.lot_id,
        entry.reason,
    )
    # What was all of it was recorded as what was there, said in the same words.
    said = amount_words(amount_base, converter)
    if same and amount_words(known.amount_base, converter) == said:
        return known
    was = converters.converters_for([known.item_id])[known.item_id]
    raise WastedAlreadyError(waste_words(known, was))


def _on_record(
    entry: WasteEntry,
    amount_base: Decimal,
    on_hand: Mapping[int, Decimal],
    place_name: str,
    converter: Converter,
) -> Decimal:
    """Return what is wasted; refuse what the record does not have."""
    left_base = sum(on_hand.values(), ZERO)
    within_base = within_record(amount_base, left_base, converter)
    if within_base is not None:
        return within_base
    if entry.beyond_record:
        return amount_base
    raise MoreThanOnRecordError(
        converter.item_name,
        place_name,
        said=amount_words(amount_base, converter),
        on_hand=amount_words(left_base, converter),
        left_base=left_base,
    )


def _nowhere_lot(entry: WasteEntry) -> int:
    """Return the lot that owes what no lot on record has: that named, if any is."""
    if entry.lot_id is not None:
        return entry.lot_id
    lot = sharing.owing_lot(entry.item_id, sharing.held_undated_lots())
    return ledger.lots_for([lot])[lot]


def _record(
    row: Waste, amount_base_by_lot: Mapping[int, Decimal], *, by_id: int | None
) -> None:
    ledger.record(
        [
            ledger.NewMovement(
                item_id=row.item_id,
                place_id=row.place_id,
                lot_id=lot_id,
                kind=Movement.Kind.WASTED,
                amount_base=amount_base,
                at=row.at,
                by_id=by_id,
                waste_id=row.pk,
            )
            for lot_id, amount_base in amount_base_by_lot.items()
        ]
    )


def _refuse_set_since(row: Waste) -> None:
    """Refuse where somebody has said, of the waste's moment or later, what is there."""
    if what := in_the_way([row])[0]:
        raise SetSinceWasteError(row.item.name, row.place.name, what)
