"""Parts of a whole: white and yolk of an egg, juice and zest of a lemon.

A day's needs of parts take the largest of their numbers of wholes; what the other
parts leave over serves later days within its keeping time. Wholes are not rounded
here: rounding happens once, at packs.
"""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planning.engine.demand.netting import FOR_EVER, NOISE_FRACTION, MadeStock
from planning.engine.kitchen import NO_LIMIT_DAYS, FloatColumn, IntColumn


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
