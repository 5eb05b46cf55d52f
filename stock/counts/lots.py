"""From what was counted on a shelf to what each of its lots comes to.

Counters read dates off what is made ahead, and seldom off a sack of flour. An amount
said with a use-by, or with a lot, is that lot's. An amount said without either is all
the rest: every lot of the item in that place that nobody named. Where it is less than
on record, what is missing is taken off the earliest use-by first, because that is what
was used first; where it is more, the surplus goes to the lot without a date if there
is one, else to the one with the latest use-by (what came last is what nobody has
booked yet), else to a new lot without a date. Lots on hold give last, and take nothing
that does not name them. A lot below nothing is set right on the way. What was named
neither by itself nor by the rest is left alone: not counted.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TypeVar

from stock.counts.lines import LineKey, Standing, counted_lines
from stock.ledger.ledger import LotKey
from stock.ledger.levels import ZERO, LotOnHand
from stock.ledger.sharing import arriving_lot

OnShelf = TypeVar("OnShelf", LotOnHand, LineKey)


@dataclass(frozen=True, slots=True)
class LotChange:
    """By how much one lot in one place differs from the record."""

    place_id: int
    lot: LotKey
    change_base: Decimal


def lot_changes(
    standing_by_line: Mapping[LineKey, Standing],
    on_hand: Iterable[LotOnHand],
    held: Collection[LotKey] = (),
) -> list[LotChange]:
    """Return the changes that bring the lots to what was counted. No query.

    `held` are the lots on hold that have no use-by, wherever they lie. A line that is
    not decided yet has none.
    """
    changes: list[LotChange] = []
    for line, lots in share_lots(counted_lines(standing_by_line), on_hand).items():
        counted_base = standing_by_line[line].counted_base
        if counted_base is None:
            continue
        before = {LotKey(lot.item_id, lot.use_by, lot.code): lot for lot in lots}
        after = _apportioned(line, counted_base, before, held)
        for key, amount_base in after.items():
            was_base = before[key].amount_base if key in before else ZERO
            if amount_base != was_base:
                changes.append(LotChange(line.place_id, key, amount_base - was_base))
    return changes


def expected_base_by_line(
    standing_by_line: Mapping[LineKey, Standing], on_hand: Iterable[LotOnHand]
) -> dict[LineKey, Decimal]:
    """Return what the record says of each counted line: what it takes of the lots."""
    return _sums(share_lots(counted_lines(standing_by_line), on_hand))


def expected_base_beside(
    lines: Iterable[LineKey],
    standing_by_line: Mapping[LineKey, Standing],
    on_hand: Iterable[LotOnHand],
) -> dict[LineKey, Decimal]:
    """Return what each line takes beside the counted ones, counted itself or not."""
    on_hand = list(on_hand)
    counted = counted_lines(standing_by_line)
    expected = _sums(share_lots(counted, on_hand))
    shelves = _by_shelf(on_hand)
    named = _by_shelf(counted)
    for line in lines:
        if line not in expected:
            shelf = line.place_id, line.item_id
            mine = share_lots([*named.get(shelf, ()), line], shelves.get(shelf, ()))
            expected[line] = _sums(mine)[line]
    return expected


def share_lots(
    lines: Iterable[LineKey], on_hand: Iterable[LotOnHand]
) -> dict[LineKey, list[LotOnHand]]:
    """Share out the lots of each shelf: the line that says the most takes first.

    `lines` are counted ones: a line that was blanked again names no lot, and leaves
    its own to the rest. The one place where lots are shared out.
    """
    lots_by_shelf = _by_shelf(on_hand)
    taken: set[tuple[int, int]] = set()
    shared = {}
    for line in sorted(lines, key=_most_said_first):
        mine = [
            lot
            for lot in lots_by_shelf.get((line.place_id, line.item_id), ())
            if (lot.place_id, lot.lot_id) not in taken and _is_of(line, lot)
        ]
        taken.update((lot.place_id, lot.lot_id) for lot in mine)
        shared[line] = mine
    return shared


def _by_shelf(things: Iterable[OnShelf]) -> dict[tuple[int, int], list[OnShelf]]:
    by_shelf: dict[tuple[int, int], list[OnShelf]] = {}
    for each in things:
        by_shelf.setdefault((each.place_id, each.item_id), []).append(each)
    return by_shelf


def _sums(
    lots_by_line: Mapping[LineKey, Iterable[LotOnHand]],
) -> dict[LineKey, Decimal]:
    return {
        line: sum((lot.amount_base for lot in lots), ZERO)
        for line, lots in lots_by_line.items()
    }


def _most_said_first(line: LineKey) -> tuple[bool, bool, LineKey]:
    undated = line.use_by is None
    return not line.lot_code, undated, line._replace(use_by=line.use_by or date.max)


def _is_of(line: LineKey, lot: LotOnHand) -> bool:
    return (not line.lot_code or line.lot_code == lot.code) and (
        line.use_by is None or line.use_by == lot.use_by
    )


def _apportioned(
    line: LineKey,
    counted_base: Decimal,
    before: Mapping[LotKey, LotOnHand],
    held: Collection[LotKey],
) -> dict[LotKey, Decimal]:
    after = {key: max(lot.amount_base, ZERO) for key, lot in before.items()}
    missing_base = sum(after.values(), ZERO) - counted_base
    for key in sorted(after, key=lambda key: _gives_first(before[key])):
        taken_base = min(after[key], max(missing_base, ZERO))
        after[key] -= taken_base
        missing_base -= taken_base
    if missing_base < 0:
        lot = _for_a_surplus(line, before, held)
        after[lot] = after.get(lot, ZERO) - missing_base
    return after


def _for_a_surplus(
    line: LineKey, before: Mapping[LotKey, LotOnHand], held: Collection[LotKey]
) -> LotKey:
    free = {key: lot for key, lot in before.items() if line.lot_code or not lot.on_hold}
    if not free:
        new = LotKey(line.item_id, line.use_by, line.lot_code)
        return arriving_lot(new, held)
    if line.use_by:
        # Of several lots with one use-by the newest: it was made or came last.
        return max(free, key=lambda key: free[key].lot_id)
    return max(free, key=lambda key: (key.use_by or date.max, free[key].lot_id))


def _gives_first(lot: LotOnHand) -> tuple[bool, date, str]:
    return lot.on_hold, lot.use_by or date.max, lot.code
