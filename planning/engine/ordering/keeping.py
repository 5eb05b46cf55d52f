"""The cheapest way to buy what keeps: all that is bought is of one kind of stock.

Stock that goes out of date is used before it, whatever is bought. So all that counts
is how much has been bought so far: it must never be under what the days up to then
ask for. Dynamic programming over the amounts that can have been bought: more for
less money beats the rest.
"""

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn
from planning.engine.leftovers import MOST_DAYS_AHEAD
from planning.engine.ordering.findings import Found
from planning.engine.ordering.options import undominated
from planning.engine.ordering.tasks import (
    Choice,
    Course,
    Task,
    follow,
    useful_left_base,
)


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
        self.asked_after = _asked_after_each_offer(task, *asked)
        most_base = max(0.0, float(np.max(asked)), self._saturated_base())
        if caps_base is None:
            caps_base = np.full(len(task.offers), most_base)
        self.caps_base = np.minimum(caps_base, most_base).tolist()

    def cheapest(
        self, charge: FloatColumn, rate: FloatColumn, is_closed: BoolColumn
    ) -> Found:
        """Return the cheapest choice; the columns have a row an offer."""
        task = self._task
        bought, cost = np.zeros(1), np.zeros(1)
        kept_by_offer = []
        for place, offer in enumerate(task.offers):
            options = 1 if is_closed[place] else len(offer.cost)
            price = rate[place] * offer.cost + charge[place] * offer.is_used
            bought = (bought[:, None] + offer.amount_base[:options]).ravel()
            np.minimum(bought, self.caps_base[place], out=bought)
            cost = (cost[:, None] + price[:options]).ravel()
            kept = undominated(bought, cost)
            bought = bought[kept]
            least = self.asked_after[place] - task.tolerance_base
            first = int(np.searchsorted(bought, least))
            kept, bought = kept[first:], bought[first:]
            if not len(kept):
                return Found(None, np.inf, np.inf)
            cost = cost[kept]
            kept_by_offer.append((kept, options))
        value = cost - self.worth_of(bought)
        best = int(np.argmin(value))
        return Found(_way_to(best, kept_by_offer), float(value[best]), value[best])

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
        used = float(course.last_used_base.sum())
        dated = float(course.left_base[-1, :-1].sum())
        ahead = MOST_DAYS_AHEAD * task.daily_base
        owed = float(course.owed_base[-1])
        return used + task.par_base + owed + ahead + dated - float(self._there[1][-1])

    def worth_of(self, bought_base: FloatColumn) -> FloatColumn:
        """Return what is left over is worth when so much has been bought in all."""
        task, course = self._task, self._course
        left = np.repeat(course.left_base[-1:], len(bought_base), axis=0)
        used = float(course.last_used_base.sum())
        left[:, -1] = np.maximum(bought_base + self._there[1][-1] - used, 0.0)
        return task.worth * useful_left_base(task, left, course.owed_base[-1:])


def _way_to(
    row: int,
    kept_by_offer: list[tuple[IntColumn, int]],
) -> Choice:
    way = []
    for kept, options in reversed(kept_by_offer):
        row, option = divmod(int(kept[row]), options)
        way.append(option)
    return tuple(reversed(way))


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
