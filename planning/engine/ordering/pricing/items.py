"""The cheapest way to buy one item when every delivery has a price of its own.

The price of a delivery is a charge for using it and a rate on the goods bought there.
What keeps is priced in one quick way, what goes out of date in a thorough one.
"""

from typing import Protocol

import numpy as np

from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.dating import DatedStock
from planning.engine.ordering.pricing.keeping import KeepingStock
from planning.engine.ordering.pricing.tasks import Choice, PricedChoice, Task, net_cost


class Pricer(Protocol):
    """Finds an item's cheapest choice."""

    def cheapest(self, prices: Prices, *, most_value: float) -> PricedChoice:
        """Return the cheapest choice; the prices have a row an offer.

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

    def cheapest(self, prices: Prices) -> PricedChoice:
        """Return the cheapest choice at some prices.

        What was cheapest at the last prices limits what is looked at.
        """
        mine = prices.of(self._trucks)
        known = self._value_of_last(mine)
        found = self._stock.cheapest(mine, most_value=known)
        if found.value > known:
            found = PricedChoice(self._last, known, min(found.bound, known))
        if found.choice is not None:
            self._last = found.choice
        return found

    def _value_of_last(self, prices: Prices) -> float:
        if self._last is None:
            return np.inf
        columns, options = self.task.offer_columns, np.array(self._last, dtype=int)
        if (prices.is_closed & (options > 0)).any():
            return np.inf
        rows = columns.starts[:-1] + options
        goods = (prices.rate - 1) * columns.cost[rows]
        at_prices = goods + prices.charge * columns.is_used[rows]
        return self.net_cost(self._last) + float(at_prices.sum())

    def closer(
        self, found: PricedChoice, prices: Prices, *, is_longest: bool = False
    ) -> PricedChoice:
        """Return a choice and a bound that are no further apart than those found."""
        if found.bound >= found.value or not isinstance(self._stock, DatedStock):
            return found
        mine = prices.of(self._trucks)
        return self._stock.closer(found, mine, is_longest=is_longest)
