"""What of an item is there or on its way, by class of use-by, as a task has it."""

from dataclasses import dataclass

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.kernels.columns import Matrix
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD
from planning.engine.shelves.supplies import NEVER, ON_HAND, Supplies


@dataclass(frozen=True, slots=True)
class Stock:
    """An item's stock; the columns are those of `Task`."""

    opening_base: FloatColumn
    same_day_base: Matrix
    next_day_base: Matrix
    owed_base: float
    expired_base: float = 0.0  # on hand, out of date before the first day


def stock_of(
    supplies: Supplies, last_days: IntColumn, use_by: IntColumn, days: int
) -> Stock:
    """Return an item's supplies by class of use-by; `last_days` has one for each."""
    opening = np.zeros(len(use_by))
    same_day, next_day = (np.zeros((days, len(use_by))) for _ in range(2))
    owed = expired = 0.0
    for amount, comes, usable, last in zip(
        supplies.amount_base.tolist(),
        supplies.arrives.tolist(),
        supplies.usable.tolist(),
        last_days.tolist(),
        strict=True,
    ):
        place = int(np.searchsorted(use_by, last))
        if amount < 0:
            owed -= amount
        elif comes == ON_HAND and last >= 0:
            opening[place] += amount
        elif comes == ON_HAND:
            expired += amount
        elif comes > ON_HAND:
            (next_day if usable > comes else same_day)[comes, place] += amount
    return Stock(opening, same_day, next_day, owed, expired)


def capped_use_by(use_by: IntColumn, days: int) -> IntColumn:
    """Return days of use-by; those too far off to matter are all the same."""
    return np.where(use_by >= days - 1 + MOST_DAYS_AHEAD, NEVER, use_by)


def supplies_by_row(supplies: Supplies, rows: int) -> list[Supplies]:
    """Return the supplies of each row."""
    order = np.argsort(supplies.row, kind="stable")
    bounds = np.searchsorted(supplies.row[order], np.arange(rows + 1))
    return [
        Supplies(
            supplies.row[mine],
            supplies.amount_base[mine],
            supplies.arrives[mine],
            supplies.usable[mine],
            supplies.use_by[mine],
        )
        for mine in (order[bounds[n] : bounds[n + 1]] for n in range(rows))
    ]
