"""The least that an item's further purchases can cost, worked out backwards."""

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.kernels.columns import (
    Matrix,
    OfferColumns,
    Points,
    Prices,
)
from planning.engine.ordering.kernels.compiled import compiled


@compiled
def cost_to_go(
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
