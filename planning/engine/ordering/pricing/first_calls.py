"""Calls everything that becomes machine code, so that no search waits for it later.

Made for the first time, it takes seconds; kept on disk it is there at once.
"""

from functools import cache

import numpy as np

from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.dating import PerishingStock
from planning.engine.ordering.pricing.items import ItemPricer
from planning.engine.ordering.pricing.tasks import Offer, Task, follow
from planning.engine.shelves.supplies import NEVER


@cache
def call_pricing() -> None:
    """Price a small item that keeps, and one that goes out of date."""
    for use_by in (NEVER, 1):
        task = _small_task(use_by)
        pricer, prices = ItemPricer(task), Prices.plain(1)
        pricer.closer(pricer.cheapest(prices), prices)
        pricer.net_cost((1,))
        PerishingStock(task, 1).cheapest(prices)
        follow(task, [1.0], least_owed_base=task.most_owed_base)


def _small_task(use_by: int) -> Task:
    """Return an item of which one unit is used on the second day of two."""
    nothing = np.zeros((2, 2))
    return Task(
        node=0,
        used_base=np.array([0.0, 1.0]),
        use_by=np.array([0, use_by]),
        opening_base=np.zeros(2),
        same_day_base=nothing,
        next_day_base=nothing,
        owed_base=0.0,
        most_owed_base=np.zeros(2),
        least_closing_base=np.zeros(2),
        par_base=0.0,
        daily_base=0.5,
        worth=1.0,
        tolerance_base=1e-6,
        offers=(
            Offer(
                delivery=0,
                arrives=0,
                is_next_day=False,
                stock_class=1,
                amount_base=np.array([0.0, 1.0]),
                cost=np.array([0.0, 1.0]),
                is_used=np.array([False, True]),
                lines=((), ((0, 1),)),
            ),
        ),
    )
