"""The cheapest way to buy what goes out of date.

A state is the shelf at the end of a day, by class of use-by, with what it has cost.
From day to day every state is carried on with every option; a state that has no less
of any freshness than another and has cost no more beats it. (Label-setting dynamic
programming with dominance; cut short it is a beam search that still knows a bound.)
"""

from dataclasses import dataclass

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn
from planning.engine.ordering.pricing.findings import Found
from planning.engine.ordering.pricing.tasks import Task
from planning.engine.ordering.pricing.to_go import CostToGo
from planning.engine.ordering.pricing.walking import walk
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD


@dataclass(frozen=True, slots=True)
class Guide:
    """What is known of the rest of the way from a state of the shelf."""

    to_go: CostToGo
    bought_before_base: FloatColumn  # by day: bought so far, less the shelf before use
    bought_after_base: FloatColumn  # and after it
    most_value: float  # a choice with this value is known

    @classmethod
    def nothing(cls, task: Task) -> "Guide":
        """Return a guide that knows nothing."""
        to_go = CostToGo(1.0, np.zeros((len(task.offers) + 1, 1)))
        return cls(to_go, np.zeros(task.days), np.zeros(task.days), np.inf)


class PerishingStock:
    """Prices any task, day by day.

    Beyond `most_states` only the most promising states go on; the bound is then what
    the others promised.
    """

    def __init__(self, task: Task, most_states: int) -> None:
        self._task = task
        self._most_states = most_states
        self._most_useful = _most_useful_after(task)

    def cheapest(
        self,
        charge: FloatColumn,
        rate: FloatColumn,
        is_closed: BoolColumn,
        guide: Guide | None = None,
    ) -> Found:
        """Return the cheapest choice; the columns have a row an offer."""
        guide = guide or Guide.nothing(self._task)
        value, bound, way = walk(
            self._task.columns,
            self._task.offer_columns,
            (charge, rate, is_closed),
            (
                guide.to_go,
                guide.bought_before_base,
                guide.bought_after_base,
                guide.most_value,
            ),
            (self._most_states, self._most_useful),
        )
        if value == np.inf:
            return Found(None, np.inf, bound)
        return Found(tuple(way.tolist()), value, min(value, bound))


def _most_useful_after(task: Task) -> FloatColumn:
    """Return the most stock that can be of use after each day."""
    still_used = task.used_base.sum() - np.cumsum(task.used_base)
    floor = np.maximum.accumulate(np.maximum(task.least_closing_base, 0.0)[::-1])[::-1]
    ahead = MOST_DAYS_AHEAD * task.daily_base
    floor = np.maximum(floor, task.par_base)
    return np.asarray(still_used + floor + ahead + task.most_owed_base.max())
