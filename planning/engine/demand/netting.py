"""What is still to be made of one thing, after made stock and rounded batches.

Needs come in the order of their day; made stock that is in date on that day serves
them, the earliest use-by first, each gram once. Days are numbers of days after the
plan's first day.

Whole batches: rounding up to a batch step, and filling the mixer.

Parts of a whole: white and yolk of an egg, juice and zest of a lemon.

A day's needs of parts take the largest of their numbers of wholes; what the other
parts leave over serves later days within its keeping time. Wholes are not rounded
here: rounding happens once, at packs.
"""

import heapq
import math
from collections import deque
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from planning.engine.kitchen import NO_LIMIT_DAYS, FloatColumn, IntColumn

# Sums of recipe fractions carry float noise: 2.0000000001 batches are 2.
ROUND_UP_TOLERANCE_STEPS = 1e-6


def batches_to_make(wanted_batches: float, batch_step: float) -> float:
    """Return the batches to make, rounded up to the step; a step of 0 is any amount.

    >>> batches_to_make(1.7578125, 0.5)
    2.0
    """
    if batch_step <= 0:
        return wanted_batches
    steps = math.ceil(wanted_batches / batch_step - ROUND_UP_TOLERANCE_STEPS)
    return max(steps, 0) * batch_step


def mixes_to_fill(batches: float, largest_batch: float) -> int:
    """Return how many times the mixer is filled; no largest batch (0) is once.

    >>> mixes_to_fill(2.5, 1.0)
    3
    """
    if largest_batch <= 0:
        return 1
    return max(math.ceil(batches / largest_batch - ROUND_UP_TOLERANCE_STEPS), 1)


FOR_EVER = 10**9  # a use-by that never comes, in days
# A need of which float noise alone is left has been met.
NOISE_FRACTION = 1e-9
# What stock leaves of a need, if it is less than this, is none: what was made and used
# stands in the ledger rounded to 4 places, and nobody makes a thousandth of a gram.
LEAST_NEED_BASE = 0.001


class MadeStock:
    """What lies ready of one thing, by use-by; days asked for never go back."""

    __slots__ = ("_lots",)

    def __init__(self, lots: Iterable[tuple[int, float]] = ()) -> None:
        self._lots = list(lots)
        heapq.heapify(self._lots)

    def put(self, use_by: int, amount_base: float) -> None:
        """Add something that may be used up to and including a day."""
        heapq.heappush(self._lots, (use_by, amount_base))

    def serve(self, wanted_base: float, on: int) -> float:
        """Take what is in date, and return what is still wanted.

        What is left of a need that was served, below `LEAST_NEED_BASE`, is none.
        """
        lots = self._lots
        left_base = wanted_base
        while lots and left_base > 0:
            use_by, amount_base = lots[0]
            if use_by >= on:
                if amount_base > left_base:
                    lots[0] = (use_by, amount_base - left_base)
                    return 0.0
                left_base -= amount_base
            heapq.heappop(lots)
        is_served = left_base < wanted_base
        least_base = LEAST_NEED_BASE if is_served else 0.0
        noise_base = max(wanted_base * NOISE_FRACTION, least_base)
        return left_base if left_base > noise_base else 0.0


@dataclass(frozen=True, slots=True)
class RecipeTerms:
    """How one thing is made."""

    net_yield_base: float  # of one batch, after its loss
    batch_step: float
    keeps_days: int
    capped: Mapping[int, int] = field(default_factory=dict)  # last day by making day

    def last_day(self, made_on: int) -> int:
        """Return the last day on which something made may be used."""
        capped = self.capped.get(made_on, FOR_EVER)
        if self.keeps_days == NO_LIMIT_DAYS:
            return capped
        return min(made_on + self.keeps_days - 1, capped)


@dataclass(slots=True)
class Netted:
    """What netting comes to, for one thing."""

    net_base: list[float]  # of each need: what stock did not serve
    making: list[tuple[int, float, float]]  # making day, batches, surplus_base


def net_needs(
    needs: Sequence[tuple[int, int, float]], terms: RecipeTerms, stock: MadeStock
) -> Netted:
    """Net needs against stock, and make the rest; stock is used up as it goes.

    A need is the day its parent is made, the day this is made for it, and the amount;
    both days never fall from one need to the next. All that one day makes is summed
    and rounded once; what that makes too much is stock for later days of making.
    """
    netted = Netted([], [])
    day_net_base = 0.0
    for place, (parent_on, made_on, amount_base) in enumerate(needs):
        net_base = stock.serve(amount_base, parent_on)
        netted.net_base.append(net_base)
        day_net_base += net_base
        is_last_of_day = place + 1 == len(needs) or needs[place + 1][1] != made_on
        if is_last_of_day and day_net_base > 0:
            _make(netted, made_on, day_net_base, terms, stock)
            day_net_base = 0.0
    return netted


def _make(
    netted: Netted, made_on: int, net_base: float, terms: RecipeTerms, stock: MadeStock
) -> None:
    batches = batches_to_make(net_base / terms.net_yield_base, terms.batch_step)
    if batches <= 0:
        return
    surplus_base = 0.0
    if terms.batch_step > 0:
        made_base = batches * terms.net_yield_base
        surplus_base = max(made_base - net_base, 0.0)
    if surplus_base > net_base * NOISE_FRACTION:
        stock.put(terms.last_day(made_on), surplus_base)
    netted.making.append((made_on, batches, surplus_base))


@dataclass(slots=True)
class Part:
    """One part of a whole, and what lies ready of it."""

    yields_base: float  # from 1 each of the whole
    keeps_days: int
    stock: MadeStock  # in Stock: serves first

    def last_day(self, day: int) -> int:
        """Return the last day on which what is left over on a day may be used."""
        if self.keeps_days == NO_LIMIT_DAYS:
            return FOR_EVER
        return day + self.keeps_days - 1


@dataclass(frozen=True, slots=True)
class Split:
    """What taking wholes apart comes to; columns are days."""

    wholes_each: FloatColumn
    net_base: FloatColumn  # part x day: what stock and what was left over did not serve
    unused_base: FloatColumn  # part x day: left over then, and used on no later day


class LeftOver:
    """What wholes taken apart leave of one part, by the day they were taken apart."""

    def __init__(self, part: Part, unused_base: FloatColumn) -> None:
        self._part = part
        self._unused_base = unused_base  # by column; goes down as later days use it
        # Column and last day. All keep equally long: the oldest goes out first.
        self._lots: deque[tuple[int, int]] = deque()

    def serve(self, wanted_base: float, on: int) -> float:
        """Take what is in date, and return what is still wanted."""
        left_base = wanted_base
        while self._lots and left_base > 0:
            column, last_day = self._lots[0]
            if last_day >= on:
                amount_base = float(self._unused_base[column])
                if amount_base > left_base:
                    self._unused_base[column] = amount_base - left_base
                    return 0.0
                left_base -= amount_base
                self._unused_base[column] = 0.0
            self._lots.popleft()
        return left_base if left_base > wanted_base * NOISE_FRACTION else 0.0

    def keep(self, column: int, day: int, given_base: float, net_base: float) -> None:
        """Put aside what a day's wholes give beyond the need."""
        left_base = given_base - net_base
        if left_base > given_base * NOISE_FRACTION:
            self._unused_base[column] = left_base
            self._lots.append((column, self._part.last_day(day)))


def split_wholes(
    needed_base: FloatColumn, after_from: IntColumn, parts: Sequence[Part]
) -> Split:
    """Return the wholes that parts need by day, and what is net of each and unused.

    `needed_base` has a row for each part and a column for each day.
    """
    split = Split(
        np.zeros(len(after_from)),
        np.zeros_like(needed_base),
        np.zeros_like(needed_base),
    )
    left_over = [
        LeftOver(part, unused_base)
        for part, unused_base in zip(parts, split.unused_base, strict=True)
    ]
    for column in np.flatnonzero((needed_base > 0).any(axis=0)).tolist():
        day = int(after_from[column])
        wanted_base = needed_base[:, column].tolist()
        net_base = [
            left.serve(part.stock.serve(wanted, day), day)
            for part, left, wanted in zip(parts, left_over, wanted_base, strict=True)
        ]
        wholes_each = max(
            net / part.yields_base for part, net in zip(parts, net_base, strict=True)
        )
        split.wholes_each[column] = wholes_each
        split.net_base[:, column] = net_base
        for part, left, net in zip(parts, left_over, net_base, strict=True):
            left.keep(column, day, wholes_each * part.yields_base, net)
    return split
