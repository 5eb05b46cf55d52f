"""The least that the rest of an item's purchases can still cost.

Worked out backwards for what keeps, on a grid of amounts bought so far. An amount
between two points counts as the higher one, so the figures never say too much.
"""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.pricing.compiled import compiled
from planning.engine.ordering.pricing.prices import Prices
from planning.engine.ordering.pricing.tasks import Matrix, OfferColumns, Task

POINTS = 400


class CostToGo(NamedTuple):
    """The least cost by number of offers gone by and amount bought so far."""

    step_base: float
    cost: Matrix  # offers gone by x point


class Points(NamedTuple):
    """Amounts as points of the grid."""

    shifts: IntColumn  # by option: how far it goes
    caps: IntColumn  # by offer: where its use ends
    least: IntColumn  # by offer: the first at which enough is bought after it


class CostToGoReader:
    """Works out what is still to be paid, at any prices."""

    def __init__(
        self,
        task: Task,
        caps_base: FloatColumn,
        asked_after: FloatColumn,
        worth_of: Callable[[FloatColumn], FloatColumn],
    ) -> None:
        """`caps_base` and `asked_after` are of a `KeepingStock`, by offer.

        `worth_of` says what is left over is worth, by what was bought in all.
        """
        self._offers = task.offer_columns
        most_base = max([1e-6, *caps_base.tolist()])
        self._step_base = most_base / POINTS
        point_base = np.linspace(0.0, most_base, POINTS + 1)
        self._ends = -worth_of(point_base)
        self._shifts = self._points(self._offers.amount_base)
        self._caps = self._points(caps_base)
        least_base = asked_after - task.tolerance_base
        self._least = np.searchsorted(point_base, least_base).astype(np.int64)

    def _points(self, amount_base: FloatColumn) -> IntColumn:
        points = np.ceil(amount_base / self._step_base - 1e-9)
        return np.asarray(points, dtype=np.int64)

    def read(self, prices: Prices) -> CostToGo:
        """Return the least cost to go; the prices have a row an offer."""
        points = Points(self._shifts, self._caps, self._least)
        return CostToGo(
            self._step_base, _cost_to_go(self._offers, prices, points, self._ends)
        )


@compiled
def _cost_to_go(
    offers: OfferColumns,
    prices: Prices,
    points: Points,
    ends: FloatColumn,
) -> Matrix:
    """Return the least cost by offer and point; `ends` is what it is at the end."""
    count, width = len(prices.charge), len(ends)
    cost = np.full((count + 1, width), np.inf)
    cost[count] = ends
    for place in range(count - 1, -1, -1):
        cost[place + 1, : points.least[place]] = np.inf
        first, after = offers.starts[place], offers.starts[place + 1]
        if prices.is_closed[place]:
            after = first + 1
        here, rest = cost[place], cost[place + 1]
        cap = min(points.caps[place], width - 1)
        is_filled_from = cap  # a cheaper option already fills up from there
        for row in range(first, after):  # what brings more costs more
            price = prices.rate[place] * offers.cost[row]
            if offers.is_used[row]:
                price += prices.charge[place]
            if row == first:
                here[cap:] = price + rest[cap:]
            shift = min(points.shifts[row], cap)
            for point in range(cap - shift):
                here[point] = min(here[point], price + rest[point + shift])
            for point in range(cap - shift, is_filled_from):
                here[point] = min(here[point], price + rest[cap])
            is_filled_from = min(is_filled_from, cap - shift)
            if not is_filled_from:
                break
    return cost
