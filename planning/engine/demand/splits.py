"""Parts of a whole: white and yolk of an egg, juice and zest of a lemon.

A day's needs of parts take the largest of their numbers of wholes; what the other
parts leave over serves later days within its keeping time. Wholes are not rounded
here: rounding happens once, at packs.
"""

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
    left_over: MadeStock  # of wholes taken apart on earlier days


@dataclass(frozen=True, slots=True)
class Split:
    """What taking wholes apart comes to; columns are days."""

    wholes_each: FloatColumn
    net_base: FloatColumn  # part x day: what stock and what was left over did not serve
    left_over_base: FloatColumn  # part x day: of that day's wholes


def split_wholes(
    needed_base: FloatColumn, after_from: IntColumn, parts: Sequence[Part]
) -> Split:
    """Return the wholes that parts need by day, what is net of each and left over.

    `needed_base` has a row for each part and a column for each day.
    """
    split = Split(
        np.zeros(len(after_from)),
        np.zeros_like(needed_base),
        np.zeros_like(needed_base),
    )
    for column in np.flatnonzero((needed_base > 0).any(axis=0)).tolist():
        day = int(after_from[column])
        wanted_base = needed_base[:, column].tolist()
        net_base = [
            part.left_over.serve(part.stock.serve(wanted, day), day)
            for part, wanted in zip(parts, wanted_base, strict=True)
        ]
        wholes_each = max(
            net / part.yields_base for part, net in zip(parts, net_base, strict=True)
        )
        split.wholes_each[column] = wholes_each
        split.net_base[:, column] = net_base
        for row, (part, net) in enumerate(zip(parts, net_base, strict=True)):
            split.left_over_base[row, column] = _keep(part, wholes_each, net, day)
    return split


def _keep(part: Part, wholes_each: float, net_base: float, day: int) -> float:
    """Put aside what a day's wholes give beyond the need, and return how much."""
    given_base = wholes_each * part.yields_base
    left_base = given_base - net_base
    if left_base <= given_base * NOISE_FRACTION:
        return 0.0
    if part.keeps_days == NO_LIMIT_DAYS:
        part.left_over.put(FOR_EVER, left_base)
    else:
        part.left_over.put(day + part.keeps_days - 1, left_base)
    return left_base


def most_wholes(needed_base: FloatColumn, yields_base: FloatColumn) -> FloatColumn:
    """Return the wholes that parts need by day when nothing is left from other days."""
    wholes_each: FloatColumn = (needed_base / yields_base[:, np.newaxis]).max(axis=0)
    return wholes_each
