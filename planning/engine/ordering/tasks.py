"""One item's part of the ordering problem, as plain columns.

Days are numbers from 0, the window's first. Stock is kept by class of use-by: class 0
goes out of date first. What would last beyond the time for which left-over stock is
worth anything is all of one class, the last. An offer is one delivery that can bring
the item, with every sensible number of packs as an option.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn
from planning.engine.leftovers import MOST_DAYS_AHEAD

Matrix = npt.NDArray[np.float64]
Line = tuple[int, int]  # place in the kitchen's packs, number of packs
Choice = tuple[int, ...]  # of each offer of a task: the option taken


@dataclass(frozen=True, slots=True)
class Offer:
    """One delivery that can bring an item; its columns have a row an option."""

    delivery: int  # index into the deliveries of the problem
    arrives: int
    is_next_day: bool  # whether it can be used only the day after it arrives
    stock_class: int
    amount_base: FloatColumn
    cost: FloatColumn  # of the goods, each line rounded to the cent
    is_used: BoolColumn  # whether anything is bought
    lines: tuple[tuple[Line, ...], ...]


@dataclass(frozen=True, slots=True)
class Task:
    """What one item needs, what of it is there, and what can be bought."""

    node: int
    used_base: FloatColumn  # by day
    use_by: IntColumn  # of each class, the day
    opening_base: FloatColumn  # by class; out of date already is left out
    same_day_base: Matrix  # day x class: open orders that can be used at once
    next_day_base: Matrix  # day x class: those that can be used the day after
    owed_base: float  # before the first day
    most_owed_base: FloatColumn  # by day: what no delivery can save
    least_closing_base: FloatColumn  # by day: safety and par, as far as possible
    par_base: float
    daily_base: float
    worth: float  # of a base unit that is left over and will be used
    tolerance_base: float  # a lack as small as this is none
    offers: tuple[Offer, ...] = ()  # by day; same-day ones first

    @property
    def days(self) -> int:
        """How many days the window has."""
        return len(self.used_base)

    @property
    def is_undated(self) -> bool:
        """Whether all that can be bought is of the last class."""
        last = len(self.use_by) - 1
        return int(self.use_by[last]) >= self.days - 1 and all(
            offer.stock_class == last for offer in self.offers
        )

    def offers_on(self, day: int, *, is_next_day: bool) -> list[int]:
        """Return the places of the offers of one day."""
        return [
            place
            for place, offer in enumerate(self.offers)
            if offer.arrives == day and offer.is_next_day == is_next_day
        ]

    def goods_cost(self, choice: Choice) -> float:
        """Return what a choice's goods cost."""
        return sum(
            float(offer.cost[option])
            for offer, option in zip(self.offers, choice, strict=True)
        )

    def bought_base(self, choice: Choice) -> list[float]:
        """Return what each offer brings."""
        return [
            float(offer.amount_base[option])
            for offer, option in zip(self.offers, choice, strict=True)
        ]


@dataclass(frozen=True, slots=True)
class Course:
    """How one item fares with given purchases."""

    left_base: Matrix  # day x class, at the end of the day
    owed_base: FloatColumn  # by day
    last_used_base: FloatColumn  # by day: taken from the last class

    @property
    def closing_base(self) -> FloatColumn:
        """What stands on the shelf each day, less what is owed."""
        return np.asarray(self.left_base.sum(axis=1) - self.owed_base)


def follow(
    task: Task,
    bought_base: Sequence[float],
    *,
    least_owed_base: FloatColumn | None = None,
) -> Course:
    """Return how an item fares when each offer brings so much.

    With `least_owed_base` so much stays owed each day, even if it could be served.
    """
    days, classes = task.same_day_base.shape
    same_day, next_day = task.same_day_base.tolist(), task.next_day_base.tolist()
    for offer, amount in zip(task.offers, bought_base, strict=True):
        comes = next_day if offer.is_next_day else same_day
        comes[offer.arrives][offer.stock_class] += amount
    used, use_by = task.used_base.tolist(), task.use_by.tolist()
    stays_owed = [0.0] * days if least_owed_base is None else least_owed_base.tolist()
    left, owed = task.opening_base.tolist(), task.owed_base
    lefts, oweds, last_used = [], [], []
    # Plain numbers: for so few of them arrays would take ten times as long.
    for day in range(days):
        needed = owed + used[day]
        to_serve = max(0.0, needed - stays_owed[day])
        unserved, taken = to_serve, 0.0
        for place in range(classes):
            there = same_day[day][place]
            if use_by[place] >= day:
                there += left[place]
            taken = min(there, unserved)
            unserved -= taken
            left[place] = there - taken + next_day[day][place]
        owed = needed - to_serve + unserved
        lefts.append(left.copy())
        oweds.append(owed)
        last_used.append(taken)
    return Course(np.array(lefts), np.array(oweds), np.array(last_used))


def useful_left_base(
    task: Task, left_base: Matrix, owed_base: FloatColumn
) -> FloatColumn:
    """Return how much of what is left over will be used, a row a state of the shelf.

    Earliest use-by first above par, at the plan's average daily use.
    """
    last_day = task.days - 1
    ahead = np.clip(task.use_by - last_day, 0, MOST_DAYS_AHEAD)
    spare = np.maximum(left_base.sum(axis=1) - owed_base - task.par_base, 0.0)
    useful = np.zeros(len(left_base))
    for stock_class, days_ahead in enumerate(ahead.tolist()):
        taken = np.minimum(left_base[:, stock_class], spare)
        spare = spare - taken
        in_date = np.maximum(task.daily_base * days_ahead - useful, 0.0)
        useful = useful + np.minimum(taken, in_date)
    return useful


def worth_left(task: Task, course: Course) -> float:
    """Return what is left over at the end of a course is worth, in money."""
    useful = useful_left_base(task, course.left_base[-1:], course.owed_base[-1:])
    return float(useful[0]) * task.worth


def is_enough(task: Task, course: Course) -> bool:
    """Whether nothing is left short that a delivery could have saved."""
    slack = task.tolerance_base
    return bool(
        (course.owed_base <= task.most_owed_base + slack).all()
        and (course.closing_base >= task.least_closing_base - slack).all()
    )


def net_cost(task: Task, choice: Choice) -> float:
    """Return goods less what is left over is worth; infinite if it is not enough."""
    course = follow(task, task.bought_base(choice))
    if not is_enough(task, course):
        return float("inf")
    return task.goods_cost(choice) - worth_left(task, course)
