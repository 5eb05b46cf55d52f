"""What one delivery can bring of one item: every number of packs worth a thought.

An option that holds no more than another and costs no less is left out; so is what is
beyond any use, but for the number from which a price break holds.
"""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from planning.engine.costing import ROUND_UP_TOLERANCE_PACKS, line_cost
from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn, PackTerms
from planning.engine.ordering.pricing.tasks import Line


@dataclass(frozen=True, slots=True)
class Options:
    """What can be bought; a row an option, by amount."""

    amount_base: FloatColumn
    cost: FloatColumn
    is_used: BoolColumn
    lines: tuple[tuple[Line, ...], ...]


def options_of(
    packs: Mapping[int, PackTerms], most_base: float, fixed: Mapping[int, int]
) -> Options:
    """Return the options of one delivery.

    `packs` go by their place in the kitchen, the best liked first; `most_base` is the
    most that can be of use; `fixed` says by pack id what the buyer has fixed.
    """
    amount, cents = np.zeros(1), np.zeros(1, dtype=np.int64)
    lines: list[tuple[Line, ...]] = [()]
    for place, pack in packs.items():
        counts = (
            [fixed[pack.pack_id]]
            if pack.pack_id in fixed
            else sellable_counts(pack, most_base)
        )
        more = np.array([pack.size_base * count for count in counts])
        cost = [int(100 * line_cost(pack, count)) for count in counts]
        amount = (amount[:, None] + more).ravel()
        cents = (cents[:, None] + np.array(cost)).ravel()
        lines = [
            (*line, (place, count)) if count else line
            for line, count in itertools.product(lines, counts)
        ]
        kept = undominated(np.minimum(amount, most_base), cents)
        if kept[0]:  # what is free beats nothing at all, but may ask for a fee
            kept = np.insert(kept, 0, 0)
        amount, cents = amount[kept], cents[kept]
        lines = [lines[row] for row in kept.tolist()]
    is_used = np.array([bool(line) for line in lines])
    return Options(amount, cents / 100, is_used, tuple(lines))


def sellable_counts(pack: PackTerms, most_base: float) -> list[int]:
    """Return 0 and every number of packs that is sold, up to the most that is of use.

    Where a price break lies beyond that, the number from which it holds is among them.
    """
    counts = {0}
    first = sellable(pack, 1)
    if most_base > 0:
        last = max(first, sellable(pack, packs_for(pack, most_base)))
        counts.update(range(first, last + 1, pack.multiple))
    counts.update(sellable(pack, step.from_packs) for step in pack.breaks)
    if Decimal(0) in (pack.price, *(step.price for step in pack.breaks)):
        counts.add(first)
    return sorted(counts)


def packs_for(pack: PackTerms, amount_base: float) -> int:
    """Return how many packs hold an amount."""
    return max(1, math.ceil(amount_base / pack.size_base - ROUND_UP_TOLERANCE_PACKS))


def sellable(pack: PackTerms, packs: int) -> int:
    """Return the fewest packs that are sold and are no fewer than so many.

    >>> pack = PackTerms(1, 0, 0, "", "", "", 1.0, Decimal(1), 3, 2)
    >>> sellable(pack, 1), sellable(pack, 5)
    (4, 6)
    """
    wanted = max(packs, pack.minimum_packs)
    return -(-wanted // pack.multiple) * pack.multiple


def undominated(amount: FloatColumn, cost: FloatColumn | IntColumn) -> IntColumn:
    """Return the rows that no other row beats in both amount and cost, by amount.

    Of rows with one amount more than one may stay.
    """
    order = np.argsort(-amount, kind="stable")
    by_amount = cost[order]
    least = np.minimum.accumulate(by_amount)
    is_kept = np.ones(len(order), dtype=np.bool_)
    is_kept[1:] = by_amount[1:] < least[:-1]
    return order[is_kept][::-1]
