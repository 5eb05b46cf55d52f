"""What the kernels work on: named tuples of numbers and columns.

Amounts are in an item's own base unit, money in the bakery's currency, days numbers
from 0. What is not a number, an array or a tuple of them cannot go in.
"""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from planning.engine.kitchen import BoolColumn, FloatColumn, IntColumn

Matrix = npt.NDArray[np.float64]


class OfferColumns(NamedTuple):
    """The offers of a task, one after the other; columns have a row an offer or option.

    The options of offer n are the rows from `starts[n]` up to `starts[n + 1]`.
    """

    starts: IntColumn
    arrives: IntColumn
    is_next_day: BoolColumn
    stock_class: IntColumn
    amount_base: FloatColumn
    cost: FloatColumn
    is_used: BoolColumn


class TaskColumns(NamedTuple):
    """The figures of a task, as machine code takes them."""

    used_base: FloatColumn
    use_by: IntColumn
    opening_base: FloatColumn
    same_day_base: Matrix
    next_day_base: Matrix
    owed_base: float
    most_owed_base: FloatColumn
    least_closing_base: FloatColumn
    par_base: float
    daily_base: float
    worth: float
    tolerance_base: float
    most_days_ahead: int  # so long what is left over is worth anything


class Prices(NamedTuple):
    """What deliveries cost an item; a row a delivery of the problem, or an offer."""

    charge: FloatColumn  # for buying anything there
    rate: FloatColumn  # of each unit of money spent on goods
    is_closed: BoolColumn  # nothing can be bought there

    @classmethod
    def plain(cls, trucks: int) -> "Prices":
        """Return prices at which deliveries come free."""
        return cls(np.zeros(trucks), np.ones(trucks), np.zeros(trucks, dtype=np.bool_))

    def of(self, trucks: IntColumn) -> "Prices":
        """Return the prices of some of the deliveries."""
        return Prices(self.charge[trucks], self.rate[trucks], self.is_closed[trucks])


class CostToGo(NamedTuple):
    """The least cost by number of offers gone by and amount bought so far."""

    step_base: float
    cost: Matrix  # offers gone by x point


class Points(NamedTuple):
    """Amounts as points of the grid."""

    shifts: IntColumn  # by option: how far it goes
    caps: IntColumn  # by offer: where its use ends
    least: IntColumn  # by offer: the first at which enough is bought after it


class CumulativeBounds(NamedTuple):
    """What all that is bought up to each offer must and can come to."""

    caps_base: FloatColumn  # more is of no use
    least_base: FloatColumn


class Ends(NamedTuple):
    """What is left over at the end when nothing is bought."""

    left_base: FloatColumn  # by class
    left_before_base: float  # of the last class alone; negative if it lacks
    owed_base: float


class Guide(NamedTuple):
    """What is known of the rest of the way from a state of the shelf."""

    to_go: CostToGo
    bought_before_base: FloatColumn  # by day: bought so far, less the shelf before use
    bought_after_base: FloatColumn  # and after it
    most_value: float  # a choice with this value is known


class Schedules(NamedTuple):
    """Columns one after the other; those of item n are rows from `starts[n]` on."""

    starts: IntColumn
    net_cost: FloatColumn
    uses: IntColumn  # where each column's trucks start
    truck: IntColumn
    goods: FloatColumn


class Modes(NamedTuple):
    """The ways in which deliveries can come; a row each, two columns."""

    fee: Matrix
    asked: Matrix


class Load(NamedTuple):
    """What is on each delivery."""

    goods: FloatColumn
    users: IntColumn  # how many items
