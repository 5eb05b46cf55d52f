"""What one delivery can bring of one item: every number of packs worth a thought.

An option that holds no more than another and costs no less is left out; so is what is
beyond any use, but for the number from which a price break holds.
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from planning.engine.costing import (
    ROUND_UP_TOLERANCE_PACKS,
    line_cost,
    packs_for,
    sellable,
)
from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn, PackTerms
from planning.engine.ordering.pricing.tasks import Line

# Of very small packs not every number is looked at, but for what needs ask for.
MOST_COUNTS = 500  # of one pack
MOST_OPTIONS = 1_000  # of one delivery
HALF_CENT = 0.005


@dataclass(frozen=True, slots=True)
class Options:
    """What can be bought; a row an option, by amount."""

    amount_base: FloatColumn
    cost: FloatColumn
    is_used: BoolColumn
    lines: tuple[tuple[Line, ...], ...]
    skipped_cost: float  # what rounding up from an option left out costs at most


def options_of(
    packs: Mapping[int, PackTerms],
    most_base: float,
    asked_base: Sequence[float],
    fixed: Mapping[int, int],
    least: Mapping[int, int],
) -> Options:
    """Return the options of one delivery, the one with the fewest packs first.

    `packs` go by their place in the kitchen, the best liked first; `most_base` is the
    most that can be of use; `asked_base` is what needs ask for exactly. By pack id
    `fixed` says what the buyer has fixed, `least` how many packs come at least.
    """
    amount, cents = np.zeros(1), np.zeros(1, dtype=np.int64)
    lines: list[tuple[Line, ...]] = [()]
    skipped_cents = 0.0
    for place, pack in packs.items():
        counts, left_out_cost = [fixed.get(pack.pack_id, 0)], 0.0
        if pack.pack_id not in fixed:
            counts, left_out_cost = sellable_counts(pack, most_base, asked_base)
            counts = _from(counts, least.get(pack.pack_id, 0))
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
        places, left_out_cents = _in_steps(amount[kept], cents[kept], asked_base)
        kept = kept[places]
        skipped_cents += left_out_cents + 100 * left_out_cost
        amount, cents = amount[kept], cents[kept]
        lines = [lines[row] for row in kept.tolist()]
    is_used = np.array([bool(line) for line in lines])
    return Options(amount, cents / 100, is_used, tuple(lines), skipped_cents / 100)


def _from(counts: Sequence[int], least: int) -> list[int]:
    """Return the least number, though it may not be sold, and all that are higher.

    >>> _from([0, 2, 4], 3)
    [3, 4]
    """
    return [least, *(count for count in counts if count > least)]


def _in_steps(
    amount_base: FloatColumn, cents: IntColumn, asked_base: Sequence[float]
) -> tuple[IntColumn, float]:
    """Return the places of options that stay, and what taking the next costs at most.

    The options go by amount. The first, the second and the last always stay, and those
    that meet what is asked.
    """
    count = len(cents)
    if count <= MOST_OPTIONS:
        return np.arange(count), 0.0
    steps = np.linspace(1, count - 1, MOST_OPTIONS).astype(np.int64)
    asked = np.array(asked_base) - ROUND_UP_TOLERANCE_PACKS * amount_base[1]
    meeting = np.searchsorted(amount_base, asked)
    places = np.unique(np.concatenate([[0], steps, meeting[meeting < count]]))
    following = places[np.searchsorted(places, np.arange(count))]
    return places, float((cents[following] - cents).max())


def sellable_counts(
    pack: PackTerms, most_base: float, asked_base: Sequence[float]
) -> tuple[list[int], float]:
    """Return 0 and numbers of packs that are sold, up to the most that is of use.

    Where a price break lies beyond that, the number from which it holds is among them.
    Of very many numbers only some stay, those that meet what is asked among them: the
    second figure is what it costs at most to take the next higher one instead.
    """
    counts = {0}
    first = sellable(pack, 1)
    skipped = 0
    if most_base > 0:
        last = max(first, sellable(pack, packs_for(pack, most_base)))
        many = (last - first) // pack.multiple + 1
        step = -(-many // MOST_COUNTS) * pack.multiple
        counts.update(range(first, last + 1, step))
        counts.add(last)
        skipped = step - pack.multiple
        if skipped:
            asked = {sellable(pack, packs_for(pack, base)) for base in asked_base}
            counts.update(packs for packs in asked if packs < last)
    counts.update(sellable(pack, step.from_packs) for step in pack.breaks)
    if Decimal(0) in (pack.price, *(step.price for step in pack.breaks)):
        counts.add(first)
    dearest = max(float(pack.price), *(float(step.price) for step in pack.breaks), 0.0)
    return sorted(counts), skipped * dearest + (HALF_CENT if skipped else 0.0)


def packs_reaching(pack: PackTerms, has: int, lacking: float) -> list[int]:
    """Return the fewest packs at each price that cost so much more than so many.

    Above a price break more packs can cost less, so a number may cost enough that is
    higher than one that does not. Empty where more of it costs too little.

    >>> pack = PackTerms(1, 0, 0, "", "", "", 1.0, Decimal(4))
    >>> packs_reaching(pack, 2, 9.0)
    [5]
    """
    asked = float(line_cost(pack, has)) + lacking - HALF_CENT
    starts = [1, *(step.from_packs for step in pack.breaks)]
    found = []
    for start, stop in zip(starts, [*starts[1:], None], strict=True):
        price = float(pack.price_at(start))
        if price:
            packs = sellable(pack, max(start, has + 1, math.ceil(asked / price - 1e-9)))
            if float(line_cost(pack, packs)) < asked:  # rounded down to the cent
                packs = sellable(pack, packs + 1)
            if stop is None or packs < stop:
                found.append(packs)
    return found


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
