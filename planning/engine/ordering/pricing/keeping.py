"""The cheapest way to buy what keeps: all that is bought is of one kind of stock.

Stock that goes out of date is used before it, whatever is bought. So all that counts
is how much has been bought so far: it must never be under what the days up to then
ask for. Dynamic programming over the amounts that can have been bought: more for
less money beats the rest.

The least that the rest of an item's purchases can still cost.

Worked out backwards for what keeps, on a grid of amounts bought so far. An amount
between two points counts as the higher one, so the figures never say too much.
"""

from collections.abc import Callable

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering import kernels
from planning.engine.ordering.kernels.columns import (
    CostToGo,
    CumulativeBounds,
    Ends,
    Points,
    Prices,
)
from planning.engine.ordering.pricing.tasks import (
    Course,
    PricedChoice,
    Task,
    follow,
)
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD

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


SAME_MONEY = 1e-6


class KeepingStock:
    """Prices a task whose goods are all of the last class.

    `caps_base` says for each offer how much of all that is bought up to it can be of
    use; more is bought only to be thrown away.
    """

    def __init__(self, task: Task, caps_base: FloatColumn | None = None) -> None:
        self._task = task
        self._course = all_helped(task)
        self._there = _there_base(task)
        asked = self.asked_base()
        self.asked_after = np.array(_asked_after_each_offer(task, *asked))
        most_base = max(0.0, float(np.max(asked)), self._saturated_base())
        if caps_base is None:
            caps_base = np.full(len(task.offers), most_base)
        self.caps_base = np.minimum(caps_base, most_base)
        self._least_after = self.asked_after - task.tolerance_base
        self._left_base = self._course.left_base[-1].copy()
        self._left_before_base = float(self._there[1][-1] - self._last_used_base)
        self._owed_base = float(self._course.owed_base[-1])
        self.reader = CostToGoReader(
            task, self.caps_base, self.asked_after, self.worth_of
        )

    @property
    def _last_used_base(self) -> float:
        return float(self._course.last_used_base.sum())

    def cheapest(
        self,
        prices: Prices,
        to_go: CostToGo | None = None,
        *,
        most_value: float = np.inf,
    ) -> PricedChoice:
        """Return the cheapest choice; the prices have a row an offer.

        Some choice is known to be no dearer than `most_value`.
        """
        if to_go is None:
            to_go = self.reader.read(prices)
        value, way = kernels.buy_up(
            self._task.columns,
            self._task.offer_columns,
            prices,
            CumulativeBounds(self.caps_base, self._least_after),
            Ends(self._left_base, self._left_before_base, self._owed_base),
            (to_go, most_value + SAME_MONEY),
        )
        if value == np.inf:
            return PricedChoice(None, np.inf, np.inf)
        return PricedChoice(tuple(way.tolist()), value, value)

    def asked_base(self) -> tuple[FloatColumn, FloatColumn]:
        """Return what must have been bought by each day: for its use, for its close."""
        task, course = self._task, self._course
        used = np.cumsum(course.last_used_base)
        usable, received = self._there
        dated = course.left_base[:, :-1].sum(axis=1)
        for_use = used - usable
        for_close = task.least_closing_base + course.owed_base + used - received - dated
        return for_use, for_close

    def _saturated_base(self) -> float:
        """Return from where on more of it is worth no more."""
        task, course = self._task, self._course
        dated = float(course.left_base[-1, :-1].sum())
        ahead = MOST_DAYS_AHEAD * task.daily_base
        owed = float(course.owed_base[-1])
        there = float(self._there[1][-1])
        return self._last_used_base + task.par_base + owed + ahead + dated - there

    def worth_of(self, bought_base: FloatColumn) -> FloatColumn:
        """Return what is left over is worth when so much has been bought in all."""
        left, owed = self._left_base.copy(), self._owed_base
        worth = np.empty(len(bought_base))
        for place, bought in enumerate(bought_base.tolist()):
            left[-1] = max(bought + self._left_before_base, 0.0)
            worth[place] = kernels.useful_left_base(self._task.columns, left, owed)
        return self._task.worth * worth


def all_helped(task: Task) -> Course:
    """Return how an item fares when each offer brings the most that is of use.

    What no delivery can save stays owed.
    """
    most = [float(offer.amount_base.max()) for offer in task.offers]
    return follow(task, most, least_owed_base=task.most_owed_base)


def _there_base(task: Task) -> tuple[FloatColumn, FloatColumn]:
    """Return what of the last class is there unbought: for use, and at the close."""
    same_day = np.cumsum(task.same_day_base[:, -1])
    next_day = np.cumsum(task.next_day_base[:, -1])
    received = task.opening_base[-1] + same_day + next_day
    usable = received - task.next_day_base[:, -1]
    return usable, received


def _asked_after_each_offer(
    task: Task, for_use: FloatColumn, for_close: FloatColumn
) -> list[float]:
    """Return what must have been bought before the next offer comes."""
    asked = [0.0] * len(task.offers)
    place = -1
    for day in range(task.days):
        place += len(task.offers_on(day, is_next_day=False))
        if place >= 0:
            asked[place] = max(asked[place], float(for_use[day]))
        place += len(task.offers_on(day, is_next_day=True))
        if place >= 0:
            asked[place] = max(asked[place], float(for_close[day]))
    return asked
