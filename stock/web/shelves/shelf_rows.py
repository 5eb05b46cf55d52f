"""What stands on the shelves, row by row, read once for a page.

A row is an item in one place. An item that never moved anywhere has one row at its
usual place, without an amount: not counted is not zero.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal

from stock.conversion import converters
from stock.ledger import levels
from stock.ledger.levels import ZERO, LotOnHand
from stock.models import Item, Place
from stock.web.amounts import Amount


@dataclass(frozen=True, slots=True)
class LastEntered:
    """When somebody last said what is there, and when anything was last recorded."""

    counted_at: datetime | None = None
    moved_at: datetime | None = None


def read_entered(item: Item | None = None) -> dict[tuple[int, int], LastEntered]:
    """Return how old the entries are, by item id and place id. Two queries."""
    counted_at = levels.last_counted_at_by_shelf(item=item)
    moved_at = levels.last_moved_at_by_shelf(item=item)
    return {
        shelf: LastEntered(counted_at.get(shelf), moved_at.get(shelf))
        for shelf in counted_at.keys() | moved_at.keys()
    }


def latest(each: Iterable[LastEntered]) -> LastEntered:
    """Return when anybody last said, of any of these shelves, what is there."""
    shelves = list(each)
    return LastEntered(
        counted_at=max(
            (one.counted_at for one in shelves if one.counted_at), default=None
        ),
        moved_at=max((one.moved_at for one in shelves if one.moved_at), default=None),
    )


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """An item in one place, or in all of them."""

    item: Item
    place: Place | None
    on_hand: Amount
    lots: tuple[LotOnHand, ...]
    entered: LastEntered

    @property
    def has_moved(self) -> bool:
        """Whether anything was ever recorded here."""
        return self.on_hand.base is not None

    @property
    def first_use_by(self) -> date | None:
        """The earliest use-by date of what is there and not on hold."""
        free = (lot for lot in self.lots if lot.amount_base > 0 and not lot.on_hold)
        dates = [lot.use_by for lot in free if lot.use_by]
        return min(dates, default=None)


def read_shelves() -> list[ShelfRow]:
    """Return a row for each item and place, items by name. Eight queries."""
    places = Place.objects.in_bulk()
    known = converters.converters_for()
    entered = read_entered()
    # Where somebody counted nothing, and nothing ever was, there is nothing.
    counted_base = {shelf: ZERO for shelf, each in entered.items() if each.counted_at}
    on_hand_base = _by_item(counted_base | levels.on_hand_base_by_shelf())
    lots: dict[tuple[int, int], list[LotOnHand]] = defaultdict(list)
    for lot in levels.lots_on_hand():
        lots[lot.item_id, lot.place_id].append(lot)
    return [
        ShelfRow(
            item=item,
            place=places.get(place_id) if place_id else None,
            on_hand=Amount(amount_base, known[item.pk]),
            lots=tuple(lots[item.pk, place_id or 0]),
            entered=entered.get((item.pk, place_id or 0), LastEntered()),
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
    entered = latest(row.entered for row in rows)
    # What was counted least lately is as old as the whole is.
    counted = [row.entered.counted_at for row in rows]
    counted_at = min(at for at in counted if at) if all(counted) else None
    return replace(
        first,
        on_hand=Amount(sum(moved, ZERO) if moved else None, first.on_hand.converter),
        lots=tuple(lot for row in rows for lot in row.lots),
        entered=replace(entered, counted_at=counted_at),
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
