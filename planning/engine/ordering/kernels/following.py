"""How one item fares with given purchases, day by day, and what is left over."""

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.kernels.columns import Matrix, OfferColumns, TaskColumns
from planning.engine.ordering.kernels.compiled import compiled


@compiled
def follow(
    task: TaskColumns,
    offers: OfferColumns,
    bought_base: FloatColumn,
    least_owed_base: FloatColumn,
) -> tuple[Matrix, FloatColumn, FloatColumn]:
    """Return what is left (day x class), owed, and taken from the last class by day."""
    days, classes = task.same_day_base.shape
    same_day, next_day = task.same_day_base.copy(), task.next_day_base.copy()
    for place in range(len(bought_base)):
        comes = next_day if offers.is_next_day[place] else same_day
        comes[offers.arrives[place], offers.stock_class[place]] += bought_base[place]
    lefts, oweds, last_used = np.empty((days, classes)), np.empty(days), np.empty(days)
    left, owed = task.opening_base.copy(), task.owed_base
    for day in range(days):
        needed = owed + task.used_base[day]
        to_serve = max(0.0, needed - least_owed_base[day])
        unserved, taken = to_serve, 0.0
        for place in range(classes):
            there = same_day[day, place]
            if task.use_by[place] >= day:
                there += left[place]
            taken = min(there, unserved)
            unserved -= taken
            left[place] = there - taken + next_day[day, place]
        owed = needed - to_serve + unserved
        lefts[day] = left
        oweds[day] = owed
        last_used[day] = taken
    return lefts, oweds, last_used


@compiled
def useful_left_base(
    task: TaskColumns, left_base: FloatColumn, owed_base: float
) -> float:
    """Return how much of what is left over will be used; a row a class.

    Earliest use-by first above par, at the plan's average daily use.
    """
    last_day = len(task.used_base) - 1
    spare = max(left_base.sum() - owed_base - task.par_base, 0.0)
    useful = 0.0
    for place in range(len(left_base)):
        days_ahead = min(max(task.use_by[place] - last_day, 0), task.most_days_ahead)
        taken = min(left_base[place], spare)
        spare -= taken
        useful += min(taken, max(task.daily_base * days_ahead - useful, 0.0))
    return useful


@compiled
def outcome(
    task: TaskColumns, offers: OfferColumns, bought_base: FloatColumn
) -> tuple[bool, float]:
    """Return whether purchases are enough, and what is left over is worth."""
    left, owed, _ = follow(task, offers, bought_base, np.zeros(len(task.used_base)))
    is_enough = True
    for day in range(len(owed)):
        closing = left[day].sum() - owed[day]
        is_enough &= owed[day] <= task.most_owed_base[day] + task.tolerance_base
        is_enough &= closing >= task.least_closing_base[day] - task.tolerance_base
    return is_enough, task.worth * useful_left_base(task, left[-1], owed[-1])
