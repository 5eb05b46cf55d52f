"""How much one delivery can bring of an item that is of any use.

What of an item is there or on its way, by class of use-by, as a task has it.
"""

from dataclasses import dataclass

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.kernels.columns import Matrix
from planning.engine.ordering.pricing.tasks import Course, Offer, Task
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD
from planning.engine.shelves.supplies import NEVER, ON_HAND, Supplies


def most_useful_base(task: Task, offer: Offer, none: Course) -> float:
    """Return the most that an offer can bring that is of any use.

    `none` is how the item fares when nothing is bought.
    """
    last = task.days - 1
    use_by = int(task.use_by[offer.stock_class])
    usable = offer.arrives + offer.is_next_day
    stop = min(use_by, last) + 1
    is_there_after = use_by >= last
    ahead = min(MOST_DAYS_AHEAD, max(use_by - last, 0)) * task.daily_base
    owed_before = float(none.owed_base[usable - 1]) if usable else task.owed_base
    floor = np.maximum(task.least_closing_base, 0.0)
    used_in_date = owed_before + float(task.used_base[usable:stop].sum())
    in_date = used_in_date + float(floor[offer.arrives : stop].max(initial=0.0))
    can_expire = _expiring_base(task, last)
    closing = none.closing_base
    lack = float((floor - closing)[offer.arrives :].max(initial=0.0))
    lack = max(lack, float(none.owed_base[usable:].max(initial=0.0)))
    # What expires itself can save what lasts for after the window.
    lasts = float(none.left_base[-1, task.use_by == NEVER].sum())
    wanted = task.par_base + MOST_DAYS_AHEAD * task.daily_base
    lack = max(lack, wanted + float(none.owed_base[-1]) - lasts)
    if is_there_after:
        in_date = max(in_date, used_in_date + task.par_base) + ahead
    return max(0.0, min(in_date, lack + can_expire))


def asked_base(task: Task, none: Course) -> list[float]:
    """Return what an item needs from each day to each later one, smallest first.

    `none` is how the item fares when nothing is bought. The best lot sizes are among
    these where stock lasts and packs are small (Wagner and Whitin 1958).
    """
    floor = np.maximum(task.least_closing_base, 0.0)
    short = np.maximum(floor - none.closing_base, 0.0)
    needed = np.unique(np.maximum.accumulate(np.concatenate([[0.0], short])))
    asked = needed[:, None] - needed[None, :]
    return [float(base) for base in np.unique(asked[asked > 0.0])]


def _expiring_base(task: Task, last: int) -> float:
    """Return how much of what is there can go out of date before the window ends."""
    goes = task.use_by < last
    there = task.opening_base + task.same_day_base.sum(axis=0)
    there = there + task.next_day_base.sum(axis=0)
    return float(there[goes].sum())


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
