"""The cheapest way to buy what goes out of date.

A state is the shelf at the end of a day, by class of use-by, with what it has cost.
From day to day every state is carried on with every option; a state that has no less
of any freshness than another and has cost no more beats it. (Label-setting dynamic
programming with dominance; cut short it is a beam search that still knows a bound.)
"""

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering import kernels
from planning.engine.ordering.kernels.columns import CostToGo, Guide, Prices
from planning.engine.ordering.pricing.findings import PricedChoice
from planning.engine.ordering.pricing.tasks import Task
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD


class PerishingStock:
    """Prices any task, day by day.

    Beyond `most_states` only the most promising states go on; the bound is then what
    the others promised.
    """

    def __init__(self, task: Task, most_states: int) -> None:
        self._task = task
        self._most_states = most_states
        self._most_useful = _most_useful_after(task)

    def cheapest(self, prices: Prices, guide: Guide | None = None) -> PricedChoice:
        """Return the cheapest choice; the prices have a row an offer."""
        value, bound, way = kernels.walk(
            self._task.columns,
            self._task.offer_columns,
            prices,
            guide or _knowing_nothing(self._task),
            self._most_states,
            self._most_useful,
        )
        if value == np.inf:
            return PricedChoice(None, np.inf, bound)
        return PricedChoice(tuple(way.tolist()), value, min(value, bound))


def _knowing_nothing(task: Task) -> Guide:
    to_go = CostToGo(1.0, np.zeros((len(task.offers) + 1, 1)))
    return Guide(to_go, np.zeros(task.days), np.zeros(task.days), np.inf)


def _most_useful_after(task: Task) -> FloatColumn:
    """Return the most stock that can be of use after each day."""
    still_used = task.used_base.sum() - np.cumsum(task.used_base)
    floor = np.maximum.accumulate(np.maximum(task.least_closing_base, 0.0)[::-1])[::-1]
    ahead = MOST_DAYS_AHEAD * task.daily_base
    floor = np.maximum(floor, task.par_base)
    return np.asarray(still_used + floor + ahead + task.most_owed_base.max())
