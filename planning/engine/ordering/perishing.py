"""The cheapest way to buy what goes out of date.

A state is the shelf at the end of a day, by class of use-by, with what it has cost.
From day to day every state is carried on with every option; a state that has no less
of any freshness than another and has cost no more beats it.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn
from planning.engine.leftovers import MOST_DAYS_AHEAD
from planning.engine.ordering.findings import Found
from planning.engine.ordering.tasks import (
    Choice,
    Matrix,
    Offer,
    Task,
    useful_left_base,
)
from planning.engine.ordering.to_go import CostToGo

# From so many states on the beaten ones are dropped at once, not only at the close.
MANY_STATES = 100
BLOCK = 64
# States that differ by less are the same.
SAME_BASE = 1e-6
SAME_MONEY = 1e-9


@dataclass(slots=True)
class States:
    """States of the shelf, a row each; columns are classes."""

    left_base: Matrix
    owed_base: FloatColumn
    cost: FloatColumn

    def __len__(self) -> int:
        """Return how many states there are."""
        return len(self.cost)

    def only(self, rows: IntColumn | BoolColumn) -> "States":
        """Return some of the states."""
        return States(self.left_base[rows], self.owed_base[rows], self.cost[rows])


@dataclass(slots=True)
class Walk:
    """The states so far, and how each came about."""

    states: States
    steps: list[tuple[IntColumn, int]]  # rows kept of the step's grid, its options
    bound: float = np.inf  # what states that were left could have come to

    def keep(self, rows: IntColumn) -> None:
        """Drop all but some of the states."""
        self.states = self.states.only(rows)
        if self.steps:
            kept, options = self.steps[-1]
            self.steps[-1] = (kept[rows], options)

    def buy(self, offer: Offer, price: FloatColumn) -> None:
        """Carry every state on with every option of an offer."""
        states, options = self.states, len(price)
        count = len(states) * options
        left = np.repeat(states.left_base, options, axis=0)
        left[:, offer.stock_class] += np.tile(offer.amount_base[:options], len(states))
        cost = (states.cost[:, None] + price).ravel()
        self.states = States(left, np.repeat(states.owed_base, options), cost)
        self.steps.append((np.arange(count), options))

    def way_to(self, row: int) -> Choice:
        """Return the options that led to a state."""
        way = []
        for kept, options in reversed(self.steps):
            row, option = divmod(int(kept[row]), options)
            way.append(option)
        return tuple(reversed(way))


@dataclass(frozen=True, slots=True)
class Guide:
    """What is known of the rest of the way from a state of the shelf."""

    to_go: CostToGo
    bought_before_base: FloatColumn  # by day: bought so far, less the shelf before use
    bought_after_base: FloatColumn  # and after it
    most_value: float  # a choice with this value is known


class PerishingStock:
    """Prices any task, day by day.

    Beyond `most_states` only the most promising states go on; the bound is then what
    the others promised.
    """

    def __init__(self, task: Task, most_states: int) -> None:
        self._task = task
        self._most_states = most_states
        self._same_day = [
            task.offers_on(day, is_next_day=False) for day in range(task.days)
        ]
        self._next_day = [
            task.offers_on(day, is_next_day=True) for day in range(task.days)
        ]
        self._most_useful = _most_useful_after(task)

    def cheapest(
        self,
        charge: FloatColumn,
        rate: FloatColumn,
        is_closed: BoolColumn,
        guide: Guide | None = None,
    ) -> Found:
        """Return the cheapest choice; the columns have a row an offer."""
        task = self._task
        start = States(
            task.opening_base[None, :].copy(), np.full(1, task.owed_base), np.zeros(1)
        )
        walk = Walk(start, [])

        def buy(places: list[int], day: int, less_base: FloatColumn | None) -> None:
            for place in places:
                offer = task.offers[place]
                options = 1 if is_closed[place] else len(offer.cost)
                price = rate[place] * offer.cost + charge[place] * offer.is_used
                walk.buy(offer, price[:options])
                if guide is not None and less_base is not None:
                    self._follow_guide(walk, guide, float(less_base[day]))
                if len(walk.states) > MANY_STATES:
                    useful = self._most_useful[day] + task.used_base[day]
                    walk.keep(unbeaten(walk.states, float(useful)))

        for day in range(task.days):
            walk.states.left_base *= task.use_by >= day
            walk.states.left_base += task.same_day_base[day]
            buy(self._same_day[day], day, guide.bought_before_base if guide else None)
            self._use(walk, day)
            walk.states.left_base += task.next_day_base[day]
            buy(self._next_day[day], day, guide.bought_after_base if guide else None)
            self._close(walk, day)
            if not len(walk.states):
                return Found(None, np.inf, walk.bound)
        states = walk.states
        useful = useful_left_base(task, states.left_base, states.owed_base)
        value = states.cost - task.worth * useful
        best = int(np.argmin(value))
        least = float(value[best])
        return Found(walk.way_to(best), least, min(least, walk.bound))

    def _follow_guide(self, walk: Walk, guide: Guide, less_base: float) -> None:
        """Leave the states that cannot end well, and the least promising ones."""
        states = walk.states
        bought = states.left_base.sum(axis=1) - states.owed_base - less_base
        value = states.cost + guide.to_go.after(len(walk.steps), bought)
        rows = np.flatnonzero(value <= guide.most_value - SAME_MONEY)
        if len(rows) > self._most_states:
            order = rows[np.argsort(value[rows], kind="stable")]
            walk.bound = min(walk.bound, float(value[order[self._most_states]]))
            rows = np.sort(order[: self._most_states])
        walk.keep(rows)

    def _use(self, walk: Walk, day: int) -> None:
        """Take the day's use, earliest use-by first."""
        task, states = self._task, walk.states
        needed = states.owed_base + task.used_base[day]
        up_to = np.cumsum(states.left_base, axis=1)
        np.minimum(up_to, needed[:, None], out=up_to)
        states.owed_base = needed - up_to[:, -1]
        states.left_base -= up_to
        states.left_base[:, 1:] += up_to[:, :-1]
        slack = task.tolerance_base
        is_served = states.owed_base <= task.most_owed_base[day] + slack
        if not is_served.all():
            walk.keep(np.flatnonzero(is_served))

    def _close(self, walk: Walk, day: int) -> None:
        task, states = self._task, walk.states
        closing = states.left_base.sum(axis=1) - states.owed_base
        least = task.least_closing_base[day] - task.tolerance_base
        if not (is_enough := closing >= least).all():
            walk.keep(np.flatnonzero(is_enough))
        if len(walk.states) > 1:
            walk.keep(unbeaten(walk.states, self._most_useful[day]))


def _most_useful_after(task: Task) -> FloatColumn:
    """Return the most stock that can be of use after each day."""
    still_used = task.used_base.sum() - np.cumsum(task.used_base)
    floor = np.maximum.accumulate(np.maximum(task.least_closing_base, 0.0)[::-1])[::-1]
    ahead = MOST_DAYS_AHEAD * task.daily_base
    floor = np.maximum(floor, task.par_base)
    return np.asarray(still_used + floor + ahead + task.most_owed_base.max())


def unbeaten(states: States, most_useful_base: float) -> IntColumn:
    """Return the rows of the states that no other beats."""
    fresher = np.cumsum(states.left_base[:, ::-1], axis=1)
    np.minimum(fresher, most_useful_base, out=fresher)
    differs = np.ptp(fresher, axis=0) > SAME_BASE
    figures = fresher[:, differs] - states.owed_base[:, None]
    order = np.lexsort((-figures.sum(axis=1), states.cost))
    figures = figures[order]
    found: list[npt.NDArray[np.int64]] = []
    alive = np.arange(len(order))
    while len(alive):
        block, alive = alive[:BLOCK], alive[BLOCK:]
        beats = (figures[block][:, None] >= figures[block] - SAME_BASE).all(axis=2)
        is_beaten = np.triu(beats, k=1).any(axis=0)
        block = block[~is_beaten]
        found.append(block)
        if len(alive):
            beats = (figures[block][:, None] >= figures[alive] - SAME_BASE).all(axis=2)
            alive = alive[~beats.any(axis=0)]
    return order[np.concatenate(found)]
