"""One item's part of the ordering problem, as plain columns.

Days are numbers from 0, the window's first. Stock is kept by class of use-by: class 0
goes out of date first. What would last beyond the time for which left-over stock is
worth anything is all of one class, the last. An offer is one delivery that can bring
the item, with every sensible number of packs as an option.

What pricing an item comes to.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn
from planning.engine.ordering import kernels
from planning.engine.ordering.kernels.columns import Matrix, OfferColumns, TaskColumns
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD

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
    skipped_cost: float = 0.0  # what rounding up from an option left out costs at most


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
    safety_base: float = 0.0  # of what must stand there, all but par
    expired_base: float = 0.0  # still on hand, but out of date before the first day
    offers: tuple[Offer, ...] = ()  # by day; same-day ones first
    columns: TaskColumns = field(init=False, repr=False, compare=False)
    offer_columns: OfferColumns = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Lay the figures out for machine code."""
        columns = TaskColumns(
            np.ascontiguousarray(self.used_base, dtype=np.float64),
            np.ascontiguousarray(self.use_by, dtype=np.int64),
            np.ascontiguousarray(self.opening_base, dtype=np.float64),
            np.ascontiguousarray(self.same_day_base, dtype=np.float64),
            np.ascontiguousarray(self.next_day_base, dtype=np.float64),
            float(self.owed_base),
            np.ascontiguousarray(self.most_owed_base, dtype=np.float64),
            np.ascontiguousarray(self.least_closing_base, dtype=np.float64),
            float(self.par_base),
            float(self.daily_base),
            float(self.worth),
            float(self.tolerance_base),
            MOST_DAYS_AHEAD,
        )
        object.__setattr__(self, "columns", columns)
        object.__setattr__(self, "offer_columns", _offer_columns(self.offers))

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


def _offer_columns(offers: Sequence[Offer]) -> OfferColumns:
    """Return offers one after the other, for machine code."""
    none = np.zeros(0)
    return OfferColumns(
        np.cumsum([0, *(len(offer.cost) for offer in offers)]),
        np.array([offer.arrives for offer in offers], dtype=np.int64),
        np.array([offer.is_next_day for offer in offers], dtype=np.bool_),
        np.array([offer.stock_class for offer in offers], dtype=np.int64),
        np.concatenate([none, *(offer.amount_base for offer in offers)]),
        np.concatenate([none, *(offer.cost for offer in offers)]),
        np.concatenate([none, *(offer.is_used for offer in offers)]) > 0,
    )


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
    bought_base: Sequence[float] | FloatColumn,
    *,
    least_owed_base: FloatColumn | None = None,
) -> Course:
    """Return how an item fares when each offer brings so much.

    With `least_owed_base` so much stays owed each day, even if it could be served.
    """
    if least_owed_base is None:
        least_owed_base = np.zeros(task.days)
    bought = np.asarray(bought_base, dtype=np.float64)
    return Course(
        *kernels.follow(task.columns, task.offer_columns, bought, least_owed_base)
    )


@dataclass(frozen=True, slots=True)
class PurchaseOutcome:
    """What purchases of an item come to."""

    is_enough: bool  # nothing is short that a delivery could have saved
    worth_left: float  # of what is left over, in money


def outcome(task: Task, bought_base: Sequence[float] | FloatColumn) -> PurchaseOutcome:
    """Return what it comes to when each offer brings so much."""
    bought = np.asarray(bought_base, dtype=np.float64)
    return PurchaseOutcome(*kernels.outcome(task.columns, task.offer_columns, bought))


def worth_left(task: Task, course: Course) -> float:
    """Return what is left over at the end of a course is worth, in money."""
    left, owed = course.left_base[-1], float(course.owed_base[-1])
    return kernels.useful_left_base(task.columns, left, owed) * task.worth


def is_enough(task: Task, course: Course) -> bool:
    """Whether nothing is left short that a delivery could have saved."""
    slack = task.tolerance_base
    return bool(
        (course.owed_base <= task.most_owed_base + slack).all()
        and (course.closing_base >= task.least_closing_base - slack).all()
    )


def net_cost(task: Task, choice: Choice) -> float:
    """Return goods less what is left over is worth; infinite if it is not enough."""
    found = outcome(task, task.bought_base(choice))
    if not found.is_enough:
        return float("inf")
    return task.goods_cost(choice) - found.worth_left


@dataclass(frozen=True, slots=True)
class PricedChoice:
    """The cheapest choice at some prices."""

    choice: Choice | None  # None: there is none
    value: float  # at these prices, less what is left over is worth
    bound: float  # no choice is cheaper; equal to the value unless cut short
