"""What stands on the shelves, row by row, read once for a page.

A row is an item in one place. An item that never moved anywhere has one row at its
usual place, without an amount: not counted is not zero.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Max, Q

from stock import converters, levels
from stock.levels import ZERO, LotOnHand
from stock.models import Item, Movement, Place
from stock.web.amounts import Amount


@dataclass(frozen=True, slots=True)
class Entered:
    """When somebody last said what is there, and when anything was last recorded."""

    counted_at: datetime | None = None
    moved_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """An item in one place, or in all of them."""

    item: Item
    place: Place | None
    on_hand: Amount
    lots: tuple[LotOnHand, ...]
    entered: Entered

    @property
    def has_moved(self) -> bool:
        """Whether anything was ever recorded here."""
        return self.on_hand.base is not None

    @property
    def first_use_by(self) -> date | None:
        """The earliest use-by date of what is there."""
        dates = [lot.use_by for lot in self.lots if lot.use_by and lot.amount_base > 0]
        return min(dates, default=None)


def read_shelves() -> list[ShelfRow]:
    """Return a row for each item and place, items by name. Seven queries."""
    places = Place.objects.in_bulk()
    known = converters.converters_for()
    on_hand_base = _by_item(levels.on_hand_base_by_shelf())
    entered = _entered_by_shelf()
    lots: dict[tuple[int, int], list[LotOnHand]] = defaultdict(list)
    for lot in levels.lots_on_hand():
        lots[lot.item_id, lot.place_id].append(lot)
    return [
        ShelfRow(
            item=item,
            place=places.get(place_id) if place_id else None,
            on_hand=Amount(amount_base, known[item.pk]),
            lots=tuple(lots[item.pk, place_id or 0]),
            entered=entered.get((item.pk, place_id or 0), Entered()),
        )
        for item in Item.objects.order_by("name")
        for place_id, amount_base in _shown(item, on_hand_base.get(item.pk, {}))
    ]


def together(rows: Iterable[ShelfRow]) -> list[ShelfRow]:
    """Return one row for each item, all its places added up."""
    by_item: dict[int, list[ShelfRow]] = defaultdict(list)
    for row in rows:
        by_item[row.item.pk].append(row)
    return [_added_up(of_item) for of_item in by_item.values()]


def _added_up(rows: list[ShelfRow]) -> ShelfRow:
    first = rows[0]
    moved = [row.on_hand.base for row in rows if row.on_hand.base is not None]
    # What was counted least lately is as old as the whole is.
    counted = [row.entered.counted_at for row in rows]
    return replace(
        first,
        on_hand=Amount(sum(moved, ZERO) if moved else None, first.on_hand.converter),
        lots=tuple(lot for row in rows for lot in row.lots),
        entered=Entered(
            counted_at=min(at for at in counted if at) if all(counted) else None,
            moved_at=max(
                (row.entered.moved_at for row in rows if row.entered.moved_at),
                default=None,
            ),
        ),
    )


def _by_item(
    amounts: Mapping[tuple[int, int], Decimal],
) -> dict[int, dict[int, Decimal]]:
    found: dict[int, dict[int, Decimal]] = defaultdict(dict)
    for (item_id, place_id), amount_base in amounts.items():
        found[item_id][place_id] = amount_base
    return found


def _shown(
    item: Item, on_hand_base: Mapping[int, Decimal]
) -> list[tuple[int | None, Decimal | None]]:
    """Return in which places an item is shown, and how much of it.

    Where nothing is left it is shown only at its usual place, or if nothing is left
    anywhere.
    """
    if not on_hand_base:
        return [(item.place_id, None)]
    there: list[tuple[int | None, Decimal | None]] = [
        (place_id, amount_base)
        for place_id, amount_base in on_hand_base.items()
        if amount_base or place_id == item.place_id
    ]
    return there or [(next(iter(on_hand_base)), ZERO)]


def _entered_by_shelf() -> dict[tuple[int, int], Entered]:
    is_count = Q(kind__in=levels.COUNTING_KINDS)
    rows = (
        Movement.objects.order_by()
        .values_list("item_id", "place_id")
        .annotate(counted_at=Max("at", filter=is_count), moved_at=Max("at"))
    )
    return {
        (item_id, place_id): Entered(counted_at, moved_at)
        for item_id, place_id, counted_at, moved_at in rows
    }
