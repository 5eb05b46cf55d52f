"""The least that the rest of an item's purchases can still cost.

Worked out backwards for what keeps, on a grid of amounts bought so far. An amount
between two points counts as the higher one, so the figures never say too much.
"""

from dataclasses import dataclass

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn
from planning.engine.ordering.keeping import KeepingStock
from planning.engine.ordering.tasks import Matrix, Task

POINTS = 400


@dataclass(frozen=True, slots=True)
class CostToGo:
    """The least cost by number of offers gone by and amount bought so far."""

    step_base: float
    cost: Matrix  # offers gone by x point

    def after(self, offers: int, bought_base: FloatColumn) -> FloatColumn:
        """Return the least still to be paid, less what is left over is worth."""
        point = np.ceil(bought_base / self.step_base - 1e-9).astype(np.int64)
        return np.asarray(self.cost[offers, np.clip(point, 0, POINTS)])


class CostToGoReader:
    """Works out what is still to be paid, at any prices."""

    def __init__(self, task: Task, stock: KeepingStock) -> None:
        self._stock, self._offers = stock, task.offers
        most_base = max([1e-6, *stock.caps_base])
        self._step_base = most_base / POINTS
        self._point_base = np.linspace(0.0, most_base, POINTS + 1)
        self._ends = -stock.worth_of(self._point_base)
        self._shifts = [
            np.ceil(offer.amount_base / self._step_base - 1e-9).astype(np.int64)
            for offer in task.offers
        ]
        self._caps = [
            int(np.ceil(cap_base / self._step_base - 1e-9))
            for cap_base in stock.caps_base
        ]
        self._slack_base = task.tolerance_base

    def read(
        self, charge: FloatColumn, rate: FloatColumn, is_closed: BoolColumn
    ) -> CostToGo:
        """Return the least cost to go; the columns have a row an offer."""
        count = len(self._offers)
        cost = np.empty((count + 1, POINTS + 1))
        points = np.arange(POINTS + 1)
        cost[count] = self._ends
        for place in range(count - 1, -1, -1):
            offer = self._offers[place]
            least = self._stock.asked_after[place] - self._slack_base
            cost[place + 1][self._point_base < least] = np.inf
            options = 1 if is_closed[place] else len(offer.cost)
            price = rate[place] * offer.cost + charge[place] * offer.is_used
            shift, price = _cheapest_by_shift(
                np.minimum(self._shifts[place][:options], POINTS), price[:options]
            )
            reached = np.minimum(points + shift[:, None], self._caps[place])
            reached = np.maximum(reached, points)
            cost[place] = (price[:, None] + cost[place + 1][reached]).min(axis=0)
        return CostToGo(self._step_base, cost)


def _cheapest_by_shift(
    shift: IntColumn, price: FloatColumn
) -> tuple[IntColumn, FloatColumn]:
    """Return each distinct shift with its lowest price."""
    order = np.lexsort((price, shift))
    shift = shift[order]
    is_first = np.diff(shift, prepend=-1) > 0
    return shift[is_first], price[order][is_first]
