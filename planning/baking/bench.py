"""What making things moves, worked out on a copy of the shelves before it is written.

Amounts are exact, in the item's own base unit. The lots that are in date give first
what is used by soonest; what no lot has is owed, below zero, by the last that gave.
What has a recipe of its own and does not lie ready is made on the way, in whole
steps of its batches, as a plan reckons it. Of a part the wholes are taken, and what
they leave of their other parts is put aside.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from planning.baking.book import BakeBook, BookItem, BookLine
from planning.baking.errors import NoPlaceError
from planning.engine.demand.netting import batches_to_make
from planning.engine.kitchen import FloatColumn
from planning.errors import RecipeCycleError
from stock.ledger.ledger import LotKey
from stock.ledger.levels import ZERO, LotOnHand
from stock.ledger.sharing import owing_lot, share_out
from stock.measures.resolution import to_ledger

# Less than this is noise of the recipe's fractions: neither short nor left over.
LEAST_BASE = Decimal("0.001")


class ShelfLot(NamedTuple):
    """A lot in a place, on record already or about to be."""

    place_id: int
    lot: LotKey


class TakenForLine(NamedTuple):
    """What was really taken for a line of a recipe, from the shelf."""

    item_id: int  # the component itself, or what was used instead
    taken_base: Decimal


Changes = Mapping[int, TakenForLine]  # by the component that the recipe names
NO_CHANGES: Changes = {}


@dataclass(frozen=True, slots=True)
class BenchMove:
    """So much was put into a lot, or taken from it where it is below zero."""

    spot: ShelfLot
    amount_base: Decimal
    stands_for_id: int | None = None


class Bench:
    """The shelves of one day, and what is made from them; nothing is written."""

    def __init__(
        self,
        book: BakeBook,
        lots: Iterable[LotOnHand],
        day: date,
        *,
        first_place_id: int | None,
        used_until: Mapping[int, date] | None = None,
        held: Collection[LotKey] = (),
    ) -> None:
        """Start with lots on hand and the earliest use-bys that the day has taken.

        Lots on hold are not among those on hand, and are `held` if they have no use-by.
        Without any place a move is a NoPlaceError.
        """
        self.code = ""  # the lot of what is made from now on
        self._book, self._day = book, day
        self._first_place_id = first_place_id
        self._used_until = dict(used_until or {})
        self._held = held
        self._lots: dict[int, dict[ShelfLot, Decimal]] = {}
        self._moved: list[BenchMove] = []
        self._open: list[int] = []  # recipes being made, the outermost first
        for lot in lots:
            key = LotKey(lot.item_id, lot.use_by, lot.code)
            spot = ShelfLot(lot.place_id, key)
            self._lots.setdefault(lot.item_id, {})[spot] = lot.amount_base

    def moved(self) -> list[BenchMove]:
        """Return what moved since this was asked last; one row a lot and direction."""
        sums: dict[tuple[ShelfLot, bool, int | None], Decimal] = {}
        for each in self._moved:
            key = (each.spot, each.amount_base > 0, each.stands_for_id)
            sums[key] = sums.get(key, ZERO) + each.amount_base
        self._moved = []
        return [BenchMove(spot, base, item) for (spot, _, item), base in sums.items()]

    def make(
        self, item: BookItem, batches: Fraction, changes: Changes = NO_CHANGES
    ) -> None:
        """Take what batches of a recipe take, and put what they yield on the shelf."""
        self._take_lines(item, [(line, batches) for line in item.lines], changes)
        made_base = to_ledger(batches * item.net_yield_base)
        self._put(item, made_base, self._use_by(item, changes))

    def bake(
        self,
        cake: BookItem,
        quantity: int,
        factors: FloatColumn,
        ready_until: date | None,
    ) -> None:
        """Take what planned cakes take; the finished ones that serve them go first.

        `factors` multiply the lines, by `Scale`. Finished cakes must keep until a day;
        None: the cakes are of another size, and finished ones don't serve.
        """
        ready = ZERO
        if ready_until is not None:
            there = self._in_date(cake.item_id, ready_until)
            ready = min(_positive_base(there.values()), Decimal(quantity))
            self._take(cake.item_id, ready, until=ready_until)
        to_bake = Fraction(Decimal(quantity) - ready)
        if to_bake:
            takes = [
                (line, Fraction(float(factors[line.scale])) * to_bake)
                for line in cake.lines
            ]
            self._take_lines(cake, takes, NO_CHANGES)

    def _take_lines(
        self,
        item: BookItem,
        takes: Iterable[tuple[BookLine, Fraction]],
        changes: Changes,
    ) -> None:
        if item.item_id in self._open:
            path = [*self._open[self._open.index(item.item_id) :], item.item_id]
            raise RecipeCycleError([self._book.items[pk].name for pk in path])
        self._open.append(item.item_id)
        for line, times in takes:
            change = changes.get(line.component_id)
            if change is None:
                taken_base = to_ledger(Fraction(line.taken_base) * times)
                self._use(line.component_id, taken_base)
            else:
                is_other = change.item_id != line.component_id
                stands_for = line.component_id if is_other else None
                self._use(change.item_id, to_ledger(change.taken_base), stands_for)
        self._open.pop()

    def _use(
        self, item_id: int, amount_base: Decimal, stands_for_id: int | None = None
    ) -> None:
        """Take an amount of anything; what is made here is made if it is missing."""
        item = self._book.items[item_id]
        missing_base = amount_base - _positive_base(self._in_date(item_id).values())
        if missing_base >= LEAST_BASE and item.whole_id is not None:
            self._split(item, missing_base)
            amount_base -= missing_base
        elif missing_base >= LEAST_BASE and item.is_made:
            self.make(item, _batches_for(item, missing_base))
        self._take(item_id, amount_base, stands_for_id=stands_for_id)

    def _split(self, part: BookItem, missing_base: Decimal) -> None:
        """Take wholes for a part, and put aside what they leave of the others.

        A part that no recipe takes is nothing that anybody keeps.
        """
        whole_id = part.whole_id or 0
        wholes = Fraction(missing_base) / Fraction(part.part_yields_base or 0)
        self._use(whole_id, to_ledger(wholes))
        for other_id in self._book.parts[whole_id]:
            other = self._book.items[other_id]
            if other_id != part.item_id and other_id in self._book.components:
                left_base = to_ledger(wholes * Fraction(other.part_yields_base or 0))
                self._put(other, left_base, _last_day(other, self._day))

    def _take(
        self,
        item_id: int,
        amount_base: Decimal,
        *,
        until: date | None = None,
        stands_for_id: int | None = None,
    ) -> None:
        spots = self._in_date(item_id, until)
        ready_base = _positive_base(spots.values())
        if abs(ready_base - amount_base) < LEAST_BASE:
            amount_base = ready_base
        if amount_base <= 0:
            return
        nowhere = ShelfLot(self._home(item_id), owing_lot(item_id, self._held))
        given = share_out(amount_base, spots) or {nowhere: amount_base}
        for spot, base in given.items():
            self._move(BenchMove(spot, -base, stands_for_id))
            if spot.lot.use_by is not None:
                earliest = self._used_until.get(item_id, spot.lot.use_by)
                self._used_until[item_id] = min(earliest, spot.lot.use_by)

    def _put(self, item: BookItem, amount_base: Decimal, use_by: date | None) -> None:
        if amount_base > 0:
            key = LotKey(item.item_id, use_by, self.code)
            self._move(BenchMove(ShelfLot(self._home(item.item_id), key), amount_base))

    def _move(self, moved: BenchMove) -> None:
        spots = self._lots.setdefault(moved.spot.lot.item_id, {})
        spots[moved.spot] = spots.get(moved.spot, ZERO) + moved.amount_base
        self._moved.append(moved)

    def _in_date(
        self, item_id: int, until: date | None = None
    ) -> dict[ShelfLot, Decimal]:
        """Return the lots that keep until a day, today by default, soonest first."""
        last = until or self._day
        spots = self._lots.get(item_id, {})
        return {
            spot: spots[spot]
            for spot in sorted(spots, key=_soonest_first)
            if spot.lot.use_by is None or spot.lot.use_by >= last
        }

    def _home(self, item_id: int) -> int:
        """Return where something belongs: its place, where it lies, or the first."""
        place_id = self._book.items[item_id].place_id
        lying = [spot.place_id for spot in self._lots.get(item_id, ())]
        home = place_id or (lying[0] if lying else self._first_place_id)
        if home is None:
            raise NoPlaceError
        return home

    def _use_by(self, item: BookItem, changes: Changes) -> date | None:
        """Return the last day of what is made today.

        What `caps_use_by` keeps no longer than anything that the day has taken of its
        ingredients; parts cap nothing.
        """
        own = _last_day(item, self._day)
        if not item.caps_use_by:
            return own
        components = [line.component_id for line in item.lines]
        used = [changes[pk].item_id if pk in changes else pk for pk in components]
        caps = [
            self._used_until[pk]
            for pk in used
            if self._book.items[pk].whole_id is None and pk in self._used_until
        ]
        return min([*caps, *([own] if own else [])], default=None)


def _batches_for(item: BookItem, missing_base: Decimal) -> Fraction:
    wanted = Fraction(missing_base) / item.net_yield_base
    if item.batch_step <= 0:
        return wanted
    return Fraction(batches_to_make(float(wanted), item.batch_step))


def _last_day(item: BookItem, made_on: date) -> date | None:
    if item.keeps_days is None:
        return None
    return made_on + timedelta(days=item.keeps_days - 1)


def _positive_base(amounts: Collection[Decimal]) -> Decimal:
    return sum((max(amount, ZERO) for amount in amounts), ZERO)


def _soonest_first(spot: ShelfLot) -> tuple[date, str, int]:
    return spot.lot.use_by or date.max, spot.lot.code, spot.place_id
