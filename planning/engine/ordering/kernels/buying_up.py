"""The cheapest way to have bought enough by each delivery, as machine code.

A state is how much has been bought so far, with what it has cost. States are kept by
falling amount, and so by falling cost: what holds less and costs more is left out.
"""

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.kernels.columns import (
    CostToGo,
    CumulativeBounds,
    Ends,
    OfferColumns,
    Prices,
    TaskColumns,
)
from planning.engine.ordering.kernels.compiled import compiled
from planning.engine.ordering.kernels.following import useful_left_base

# How much has been bought, its cost, the state before, the option taken.
States = tuple[FloatColumn, FloatColumn, IntColumn, IntColumn]


@compiled
def buy_up(
    task: TaskColumns,
    offers: OfferColumns,
    prices: Prices,
    amounts: CumulativeBounds,
    ends: Ends,
    guide: tuple[CostToGo, float],
) -> tuple[float, IntColumn]:
    """Return the least cost, infinite if there is no way, and the options taken.

    The guide has what the rest costs at least, and a cost above which there is nothing
    to look for.
    """
    count = len(prices.charge)
    bought, cost = np.zeros(1), np.zeros(1)
    parents = [np.zeros(1, dtype=np.int64)]
    taken = [np.zeros(1, dtype=np.int64)]
    for place in range(count):
        cap_base = amounts.caps_base[place]
        offer = offers, place, prices
        grown = _grown(offer, (bought, cost), guide, cap_base)
        bought, cost, parent, option = grown
        kept = len(bought)
        while kept and bought[kept - 1] < amounts.least_base[place]:
            kept -= 1
        if not kept:
            return np.inf, np.zeros(0, dtype=np.int64)
        bought, cost = bought[:kept].copy(), cost[:kept].copy()
        parents.append(parent)
        taken.append(option)
    return _best_end(task, (bought, cost), ends, (parents, taken))


@compiled
def _grown(
    offer: tuple[OfferColumns, int, Prices],
    states: tuple[FloatColumn, FloatColumn],
    guide: tuple[CostToGo, float],
    cap_base: float,
) -> States:
    """Return every state that the options of an offer lead to, as far as it can go."""
    offers, place, prices = offer
    to_go, most_value = guide
    first, after = offers.starts[place], offers.starts[place + 1]
    if prices.is_closed[place]:
        after = first + 1
    grown = _room(0)
    rest = to_go.cost[place + 1]
    for row in range(first, after):
        price = prices.rate[place] * offers.cost[row]
        if offers.is_used[row]:
            price += prices.charge[place]
        more = offers.amount_base[row]
        step = more, price, rest, to_go.step_base, most_value
        grown = _merged(grown, states, step, row - first, cap_base)
    return grown


@compiled
def _room(size: int) -> States:
    """Return room for so many states."""
    places = np.empty(size, dtype=np.int64)
    return np.empty(size), np.empty(size), places, places.copy()


@compiled
def _merged(
    grown: States,
    states: tuple[FloatColumn, FloatColumn],
    step: tuple[float, float, FloatColumn, float, float],
    option: int,
    cap_base: float,
) -> States:
    """Return what has grown so far with every state that one more option leads to.

    A step is what it brings, its price, and what says whether it can end well: what
    the rest costs by amount bought, how far those amounts are apart, and the limit.
    """
    bought, cost, parent, taken = grown
    before, spent = states
    more, price, rest, apart_base, most_value = step
    new_bought, new_cost, new_parent, new_taken = _room(len(bought) + len(before))
    old, new, kept, least = 0, 0, 0, np.inf
    while old < len(bought) or new < len(before):
        amount, paid = -1.0, np.inf  # less than any state has bought
        if new < len(before):
            amount = min(before[new] + more, cap_base)
            paid = spent[new] + price
        is_old = old < len(bought) and (
            bought[old] > amount or (bought[old] == amount and cost[old] <= paid)
        )
        if is_old:
            amount, paid = bought[old], cost[old]
            is_better, came_from, by = paid < least, parent[old], taken[old]
            old += 1
        else:
            point = max(int(np.ceil(amount / apart_base - 1e-9)), 0)
            paid_in_all = paid + rest[min(point, len(rest) - 1)]
            is_better = paid < least and paid_in_all <= most_value
            came_from, by = new, option
            new += 1
        if is_better:
            least = paid
            new_bought[kept], new_cost[kept] = amount, paid
            new_parent[kept], new_taken[kept] = came_from, by
            kept += 1
    return new_bought[:kept], new_cost[:kept], new_parent[:kept], new_taken[:kept]


@compiled
def _best_end(
    task: TaskColumns,
    states: tuple[FloatColumn, FloatColumn],
    ends: Ends,
    steps: tuple[list[IntColumn], list[IntColumn]],
) -> tuple[float, IntColumn]:
    """Return the least cost, less what is left over is worth, and the way there."""
    bought, cost = states
    parents, taken = steps
    left = ends.left_base.copy()
    least, best = np.inf, -1
    for row in range(len(bought)):
        left[-1] = max(bought[row] + ends.left_before_base, 0.0)
        value = cost[row] - task.worth * useful_left_base(task, left, ends.owed_base)
        if value < least:
            least, best = value, row
    way = np.empty(len(parents) - 1, dtype=np.int64)
    for place in range(len(way), 0, -1):
        way[place - 1] = taken[place][best]
        best = parents[place][best]
    return least, way
