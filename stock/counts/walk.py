"""The walk of a count: its lines, place by place, in the order of the shelves.

A place lists the items whose place it is and whatever the record has there besides.
Retired items and cakes are listed only while some is left. What is made ahead has a
line for each use-by on record. What somebody found where it was not listed has a line
from then on.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from stock.counts.codes import line_code
from stock.counts.lines import LineKey, Shelf
from stock.ledger import levels
from stock.ledger.levels import LotOnHand
from stock.models import Count, Item, Place


@dataclass(frozen=True, slots=True)
class WalkLine:
    """One line of the sheet, before anybody has counted it."""

    key: LineKey
    item: Item
    place: Place
    code: str  # short, for paper

    @property
    def use_by(self) -> date | None:
        """The use-by that the line is about; None: all of the item there."""
        return self.key.use_by


@dataclass(frozen=True, slots=True)
class Walk:
    """All the lines of a count, and what the record says at its moment."""

    count: Count
    places: tuple[Place, ...]  # in walking order
    lines: tuple[WalkLine, ...]  # in walking order
    on_hand: tuple[LotOnHand, ...]  # at the moment of the count

    def lines_by_place(self) -> dict[int, list[WalkLine]]:
        """Return the lines of each place, by its id; a place without any has none."""
        by_place: dict[int, list[WalkLine]] = {place.pk: [] for place in self.places}
        for line in self.lines:
            by_place[line.place.pk].append(line)
        return by_place

    def shelves_by_item(self) -> dict[int, list[Shelf]]:
        """Return where each item is to be counted, by item id."""
        shelves: dict[int, list[Shelf]] = defaultdict(list)
        for line in self.lines:
            shelf = Shelf(line.place.pk, line.item.pk)
            if shelf not in shelves[line.item.pk]:
                shelves[line.item.pk].append(shelf)
        return dict(shelves)


def walk(count: Count, entered: Iterable[LineKey] = ()) -> Walk:
    """Return the lines of a count; `entered` are lines with entries. Four queries."""
    places = tuple(count.places.all())
    items = {item.pk: item for item in Item.objects.all()}
    on_hand = tuple(levels.lots_on_hand(at=count.counted_at))
    now_on_hand = levels.lots_on_hand()
    keys = _listed(items, [*on_hand, *now_on_hand])
    keys |= {key for key in entered if key.item_id in items}
    place_by_id = {place.pk: place for place in places}
    lines = [
        WalkLine(key, items[key.item_id], place_by_id[key.place_id], line_code(key))
        for key in keys
        if key.place_id in place_by_id
    ]
    return Walk(count, places, tuple(sorted(lines, key=_in_walking_order)), on_hand)


def _listed(items: Mapping[int, Item], on_hand: Iterable[LotOnHand]) -> set[LineKey]:
    dated: set[LineKey] = set()
    shelves = set()
    for lot in on_hand:
        shelf = Shelf(lot.place_id, lot.item_id)
        shelves.add(shelf)
        is_made = items[lot.item_id].kind == Item.Kind.MADE
        if is_made and lot.use_by and lot.amount_base > 0:
            dated.add(LineKey(*shelf, lot.use_by))
    own = {
        Shelf(item.place_id, item.pk)
        for item in items.values()
        if item.place_id and not item.retired and item.kind != Item.Kind.CAKE
    }
    with_dates = {Shelf(line.place_id, line.item_id) for line in dated}
    return dated | {LineKey(*shelf) for shelf in (own | shelves) - with_dates}


def _in_walking_order(line: WalkLine) -> tuple[object, ...]:
    is_at_home = line.item.place_id == line.place.pk
    return (
        line.place.walk_order,
        line.place.name,
        not is_at_home,
        line.item.walk_order if is_at_home else 0,
        line.item.name.casefold(),
        line.key.use_by or date.max,
        line.key.lot_code,
    )
