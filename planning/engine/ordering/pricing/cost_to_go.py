"""The least that the rest of an item's purchases can still cost.

Worked out backwards for what keeps, on a grid of amounts bought so far. An amount
between two points counts as the higher one, so the figures never say too much.
"""

from collections.abc import Callable

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering import kernels
from planning.engine.ordering.kernels.columns import CostToGo, Points, Prices
from planning.engine.ordering.pricing.tasks import Task

POINTS = 400


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
            self._step_base,
            kernels.cost_to_go(self._offers, prices, points, self._ends),
        )
