"""The cheapest way to buy one item when every delivery has a price of its own.

The price of a delivery is a charge for using it and a rate on the goods bought there.
What keeps is priced in one quick way, what goes out of date in a thorough one.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn
from planning.engine.ordering.pricing.dating import DatedStock
from planning.engine.ordering.pricing.findings import Found
from planning.engine.ordering.pricing.keeping import KeepingStock
from planning.engine.ordering.pricing.tasks import Choice, Task, net_cost


@dataclass(frozen=True, slots=True)
class Prices:
    """What each delivery costs an item; a row a delivery of the problem."""

    charge: FloatColumn  # for buying anything there
    rate: FloatColumn  # of each unit of money spent on goods
    is_closed: BoolColumn  # nothing can be bought there

    @classmethod
    def plain(cls, trucks: int) -> "Prices":
        """Return prices at which deliveries come free."""
        return cls(np.zeros(trucks), np.ones(trucks), np.zeros(trucks, dtype=np.bool_))


class Pricer(Protocol):
    """Finds an item's cheapest choice."""

    def cheapest(
        self,
        charge: FloatColumn,
        rate: FloatColumn,
        is_closed: BoolColumn,
        *,
        most_value: float,
    ) -> Found:
        """Return the cheapest choice; the columns have a row an offer.

        Some choice is known to be no dearer than `most_value`.
        """


class ItemPricer:
    """Prices one task; translates from deliveries to the task's offers."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self._trucks = np.array([offer.delivery for offer in task.offers], dtype=int)
        self._net_cost_by_choice: dict[Choice, float] = {}
        self._last: Choice | None = None
        self._stock: Pricer = (
            KeepingStock(task) if task.is_undated else DatedStock(task, self.net_cost)
        )

    def net_cost(self, choice: Choice) -> float:
        """Return goods less what is left over is worth; infinite if not enough."""
        known = self._net_cost_by_choice
        if choice not in known:
            known[choice] = net_cost(self.task, choice)
        return known[choice]

    def cheapest(self, prices: Prices) -> Found:
        """Return the cheapest choice at some prices.

        What was cheapest at the last prices limits what is looked at.
        """
        trucks = self._trucks
        charge, rate = prices.charge[trucks], prices.rate[trucks]
        is_closed = prices.is_closed[trucks]
        known = self._value_of_last(charge, rate, is_closed)
        found = self._stock.cheapest(charge, rate, is_closed, most_value=known)
        if found.value > known:
            found = Found(self._last, known, min(found.bound, known))
        if found.choice is not None:
            self._last = found.choice
        return found

    def _value_of_last(
        self, charge: FloatColumn, rate: FloatColumn, is_closed: BoolColumn
    ) -> float:
        if self._last is None:
            return np.inf
        columns, options = self.task.offer_columns, np.array(self._last, dtype=int)
        if (is_closed & (options > 0)).any():
            return np.inf
        rows = columns.starts[:-1] + options
        at_prices = (rate - 1) * columns.cost[rows] + charge * columns.is_used[rows]
        return self.net_cost(self._last) + float(at_prices.sum())

    def closer(
        self, found: Found, prices: Prices, *, is_longest: bool = False
    ) -> Found:
        """Return a choice and a bound that are no further apart than those found."""
        if found.bound >= found.value or not isinstance(self._stock, DatedStock):
            return found
        trucks = self._trucks
        return self._stock.closer(
            found,
            prices.charge[trucks],
            prices.rate[trucks],
            prices.is_closed[trucks],
            is_longest=is_longest,
        )
