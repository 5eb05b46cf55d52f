"""How much is taken, as people say it; and what there is to take, and where."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import OuterRef
from django.db.models.functions import Lower

from stock.counts.tares import tares_by_shelf
from stock.ledger import levels
from stock.ledger.held import is_held
from stock.ledger.levels import ZERO, LotOnHand
from stock.measures.amount_words import amount_words
from stock.measures.conversion import Converter
from stock.measures.reading.spoken import read_spoken
from stock.measures.resolution import to_ledger
from stock.models import Balance, Item, Place, Waste

MOST_LOOKED_AT = 200  # wastes, for the items that are wasted again and again


@dataclass(frozen=True, slots=True)
class Source:
    """What can be taken at once: all of a place, or one lot in it."""

    place: Place
    amount_base: Decimal  # without lots on hold, unless it is one
    lots: tuple[LotOnHand, ...]
    lot: LotOnHand | None = None  # None: of all its lots, the earliest use-by first

    @property
    def lot_id(self) -> int | None:
        """The only lot it is of."""
        return self.lot.lot_id if self.lot else None


def read_taken(
    text: str, converter: Converter, shelf: tuple[int, int], *, unit: str | None = None
) -> Decimal:
    """Return what a text says is taken, in base units: `2 lb`, `half a case`.

    Read as at the shelf: `unit` is what a bare number means, and tares are those of
    the place and item whose ids are `shelf`. Nothing is 0, and what has two meanings
    a SeveralReadingsError. One query.
    """
    tares = tares_by_shelf({shelf})[shelf]
    spoken = read_spoken(text, converter, tares, counting_unit=unit)
    return to_ledger(spoken.amount_base) if spoken else ZERO


def within_record(
    amount_base: Decimal, left_base: Decimal, converter: Converter
) -> Decimal | None:
    """Return what is taken of what is left; None where that is less.

    Who says just what the page shows of the whole means all of it, though the words
    were rounded.
    """
    if amount_base <= left_base:
        return amount_base
    is_all = amount_words(amount_base, converter) == amount_words(left_base, converter)
    return left_base if is_all else None


def sources(item: Item) -> list[Source]:
    """Return where an item can be taken from, the earliest use-by first.

    A place with several lots is followed by each of them, and so is one with a lot on
    hold, which is taken only by itself. Its usual place is there
    even with nothing on record; an item that stands nowhere can be in any place. Two
    queries.
    """
    places = Place.objects.in_bulk()
    by_place: dict[int, list[LotOnHand]] = {}
    for lot in levels.lots_on_hand(item=item):
        by_place.setdefault(lot.place_id, []).append(lot)
    if item.place_id is not None:
        by_place.setdefault(item.place_id, [])
    if not by_place:
        by_place = {place_id: [] for place_id in places}
    found: list[Source] = []
    for place_id, lots in by_place.items():
        found += _of_place(places[place_id], tuple(lots))
    return found


def out_of_date(today: date) -> list[Balance]:
    """Return what of a lot is out of date in a place, the oldest first. One query.

    Each says as `on_hold` whether its lot is.
    """
    rows = Balance.objects.filter(lot__use_by__lt=today, amount_base__gt=0).annotate(
        on_hold=is_held(OuterRef("lot_id"))
    )
    return list(
        rows.select_related("item", "place", "lot").order_by(
            "lot__use_by", Lower("item__name"), "place__walk_order", "pk"
        )
    )


def wasted_lately(*, most: int) -> list[Item]:
    """Return the items that were wasted last, the latest first. One query."""
    rows = Waste.objects.select_related("item")[:MOST_LOOKED_AT]
    return list(
        {row.item_id: row.item for row in rows if not row.item.retired}.values()
    )[:most]


def place_on_hand_base(item_id: int, place_id: int) -> Decimal:
    """Return what is on record of an item in a place. One query."""
    return levels.on_hand_base_by_place(item=item_id).get(place_id, ZERO)


def _of_place(place: Place, lots: tuple[LotOnHand, ...]) -> Iterable[Source]:
    free = tuple(lot for lot in lots if not lot.on_hold)
    yield Source(place, sum((lot.amount_base for lot in free), ZERO), lots)
    if len(lots) > 1 or lots != free:
        for lot in lots:
            yield Source(place, lot.amount_base, (lot,), lot)
