"""Moving an item from one place to another, and undoing it: the jobs."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext_lazy

from stock.conversion import converters
from stock.ledger import ledger, sharing
from stock.ledger.levels import ZERO
from stock.ledger.said_since import said_since
from stock.measures.amount_words import amount_words
from stock.measures.conversion import Converter
from stock.measures.resolution import to_ledger
from stock.models import Balance, Item, Move, Movement, Place
from stock.moving.errors import (
    MoreThanThereError,
    MovedAlreadyError,
    MoveNotUndoneError,
    NothingMovedError,
    RetiredItemError,
    SamePlaceError,
)
from stock.moving.wording import move_words
from stock.wasting.quantities import within_record

GONE_WORDS = gettext_lazy("used, wasted or moved on since")


@dataclass(frozen=True, slots=True)
class MoveEntry:
    """So much of an item, from one place to another."""

    item_id: int
    from_place_id: int
    to_place_id: int
    amount_base: Decimal
    lot_id: int | None = None  # None: the earliest use-by first


@transaction.atomic
def move_stock(entry: MoveEntry, *, key: str, by_id: int | None = None) -> Move:
    """Take an amount out of one place into another; return the move it is kept as.

    Lots and their use-by stay what they are; of several the earliest use-by goes
    first. More than is on record there is refused. A repeat of the key returns what it
    recorded; with other contents it is refused. Queries do not grow with lots.
    """
    moment = ledger.moment_after_lock([entry.item_id])
    converter = converters.converters_for([entry.item_id])[entry.item_id]
    amount_base = _checked(entry, converter)
    rows = Move.objects.select_related("item", "from_place", "to_place")
    known = rows.filter(key=key).first()
    if known is not None:
        return _repeated(known, entry, amount_base, converter)
    places = Place.objects.in_bulk([entry.from_place_id, entry.to_place_id])
    from_place, to_place = places[entry.from_place_id], places[entry.to_place_id]
    _refuse_pointless(entry.item_id, from_place, to_place, converter)
    on_hand = sharing.lots_to_take(
        item_id=entry.item_id, place_id=from_place.pk, lot_id=entry.lot_id
    )
    amount_base = _on_record(amount_base, on_hand, from_place, converter)
    row = Move.objects.create(
        key=key,
        item_id=entry.item_id,
        from_place=from_place,
        to_place=to_place,
        lot_id=entry.lot_id,
        amount_base=amount_base,
        at=moment,
        by_id=by_id,
    )
    _record(row, sharing.share_out(amount_base, on_hand), by_id=by_id)
    return row


@transaction.atomic
def undo_move(move_id: int, *, by_id: int | None = None) -> Move:
    """Bring back what a move took, as of its own moment; return it.

    Refused where what arrived is not all there any more, and once somebody has set,
    imported or counted either shelf since: what they said counts. Undoing again
    changes nothing. Queries do not grow with lots.
    """
    rows = Move.objects.select_related("item", "from_place", "to_place")
    row = rows.get(pk=move_id)
    ledger.lock_items([row.item_id])
    row.refresh_from_db(fields=["undone_at"])
    if row.undone_at is not None:
        return row
    if what := in_the_way(row):
        raise MoveNotUndoneError(row.item.name, *what)
    arrived = _arrived(row)
    _record(row, {lot_id: -base for lot_id, base in arrived.items()}, by_id=by_id)
    ledger.forget_undone([row.item_id])
    row.undone_at, row.undone_by_id = timezone.now(), by_id
    row.save(update_fields=["undone_at", "undone_by"])
    return row


def in_the_way(row: Move) -> tuple[str, str] | None:
    """Return in which place what happened since forbids undoing it; None: nothing.

    Nine queries.
    """
    newest = row.movements.aggregate(newest=Max("pk"))["newest"]
    for place in (row.from_place, row.to_place):
        what = _said_since(row.item_id, place.pk, row.at, newest)
        if what:
            return place.name, what
    arrived = _arrived(row)
    there = Balance.objects.filter(place=row.to_place, lot_id__in=arrived)
    left_base = dict(there.values_list("lot_id", "amount_base"))
    if any(left_base.get(lot, ZERO) < base for lot, base in arrived.items()):
        return row.to_place.name, str(GONE_WORDS)
    return None


def _said_since(item_id: int, place_id: int, at: datetime, newest: int) -> str:
    return said_since(
        item_id=item_id, place_id=place_id, at=at, newest_movement_id=newest
    )


def _checked(entry: MoveEntry, converter: Converter) -> Decimal:
    ledger.check_amounts([(entry.item_id, entry.amount_base)])
    amount_base = to_ledger(entry.amount_base)
    if amount_base <= 0:
        raise NothingMovedError(converter.item_name)
    return amount_base


def _refuse_pointless(
    item_id: int, from_place: Place, to_place: Place, converter: Converter
) -> None:
    if from_place == to_place:
        raise SamePlaceError(converter.item_name, to_place.name)
    if Item.objects.filter(pk=item_id, retired=True).exists():
        raise RetiredItemError(converter.item_name)


def _repeated(
    known: Move, entry: MoveEntry, amount_base: Decimal, converter: Converter
) -> Move:
    same = ((known.item_id, known.from_place_id, known.to_place_id, known.lot_id)) == (
        entry.item_id,
        entry.from_place_id,
        entry.to_place_id,
        entry.lot_id,
    )
    # What was all of it was recorded as what was there, said in the same words.
    said = amount_words(amount_base, converter)
    if same and amount_words(known.amount_base, converter) == said:
        return known
    was = converters.converters_for([known.item_id])[known.item_id]
    raise MovedAlreadyError(move_words(known, was))


def _on_record(
    amount_base: Decimal,
    on_hand: Mapping[int, Decimal],
    place: Place,
    converter: Converter,
) -> Decimal:
    left_base = sum(on_hand.values(), ZERO)
    within_base = within_record(amount_base, left_base, converter)
    if within_base is None or within_base <= 0:
        raise MoreThanThereError(
            converter.item_name,
            place.name,
            said=amount_words(amount_base, converter),
            on_hand=amount_words(left_base, converter),
            left_base=left_base,
        )
    return within_base


def _arrived(row: Move) -> dict[int, Decimal]:
    """Return what came into the other place, by lot id. One query."""
    movements = row.movements.order_by().filter(place=row.to_place)
    return dict(movements.values_list("lot_id", "amount_base"))


def _record(
    row: Move, amount_base_by_lot: Mapping[int, Decimal], *, by_id: int | None
) -> None:
    """Write both sides of each lot; amounts below zero bring it back."""
    ledger.record(
        [
            ledger.NewMovement(
                item_id=row.item_id,
                place_id=place_id,
                lot_id=lot_id,
                kind=Movement.Kind.MOVED,
                amount_base=sign * amount_base,
                at=row.at,
                by_id=by_id,
                move_id=row.pk,
            )
            for lot_id, amount_base in amount_base_by_lot.items()
            for place_id, sign in ((row.from_place_id, -1), (row.to_place_id, 1))
        ]
    )
