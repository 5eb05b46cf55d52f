"""From day to day with every state of the shelf that is worth a thought.

`pricing.dating` says what a state is and when one beats another.
"""

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.kernels.columns import (
    Guide,
    Matrix,
    OfferColumns,
    Prices,
    TaskColumns,
)
from planning.engine.ordering.kernels.compiled import compiled
from planning.engine.ordering.kernels.following import useful_left_base

# From so many states on the beaten ones are dropped at once, not only at the close.
MANY_STATES = 100
# States that differ by less are the same.
SAME_BASE = 1e-6
SAME_MONEY = 1e-9

States = tuple[Matrix, FloatColumn, FloatColumn]  # left by class, owed, cost


@compiled
def walk(
    task: TaskColumns,
    offers: OfferColumns,
    prices: Prices,
    guide: Guide,
    most_states: int,
    most_useful_base: FloatColumn,
) -> tuple[float, float, IntColumn]:
    """Return the least cost, a bound, and the options taken.

    From a delivery no more than `most_states` go on. `most_useful_base` is, by day,
    the most stock that can be of use after it.
    """
    left = task.opening_base.copy().reshape(1, -1)
    states = left, np.full(1, task.owed_base), np.zeros(1)
    parents = [np.zeros(1, dtype=np.int64)]
    taken = [np.zeros(1, dtype=np.int64)]
    bound = np.inf
    place = 0
    for day in range(len(task.used_base)):
        useful = most_useful_base[day] + task.used_base[day]
        _start_day(task, states, day)
        for is_next_day in (False, True):
            before_base = guide.bought_before_base[day]
            less = guide.bought_after_base[day] if is_next_day else before_base
            after = _first_after(offers, place, (day, is_next_day))
            for number in range(place, after):
                states, rows, options, left_out = _bought(
                    (offers, number, prices), states, guide, most_states, less
                )
                bound = min(bound, left_out)
                parents.append(rows)
                taken.append(options)
                if len(states[2]) > MANY_STATES:
                    states = _kept(states, unbeaten(states, useful), parents, taken)
            place = after
            if not is_next_day:
                states = _kept(states, _served(task, states, day), parents, taken)
                states[0][:] += task.next_day_base[day]
        states = _kept(states, _enough(task, states, day), parents, taken)
        best = unbeaten(states, most_useful_base[day])
        states = _kept(states, best, parents, taken)
        if not len(states[2]):
            return np.inf, bound, np.zeros(0, dtype=np.int64)
    return _best_end(task, states, bound, (parents, taken))


@compiled
def _first_after(offers: OfferColumns, place: int, when: tuple[int, bool]) -> int:
    """Return the first offer from a place on that comes later.

    `when` is a day, and whether what comes on it is for use on the next day.
    """
    day, is_next_day = when
    while (
        place < len(offers.arrives)
        and offers.arrives[place] == day
        and offers.is_next_day[place] == is_next_day
    ):
        place += 1
    return place


@compiled
def _best_end(
    task: TaskColumns,
    states: States,
    bound: float,
    steps: tuple[list[IntColumn], list[IntColumn]],
) -> tuple[float, float, IntColumn]:
    """Return the least cost, less what is left over is worth, and the way there."""
    left, owed, cost = states
    parents, taken = steps
    least, best = np.inf, -1
    for row in range(len(cost)):
        value = cost[row] - task.worth * useful_left_base(task, left[row], owed[row])
        if value < least:
            least, best = value, row
    way = np.empty(len(parents) - 1, dtype=np.int64)
    for step in range(len(way), 0, -1):
        way[step - 1] = taken[step][best]
        best = parents[step][best]
    return least, bound, way


@compiled
def _start_day(task: TaskColumns, states: States, day: int) -> None:
    """Throw away what is out of date, and take in what comes for use at once."""
    left = states[0]
    for row in range(left.shape[0]):
        for place in range(left.shape[1]):
            if task.use_by[place] < day:
                left[row, place] = 0.0
            left[row, place] += task.same_day_base[day, place]


@compiled
def _kept(
    states: States, rows: IntColumn, parents: list[IntColumn], taken: list[IntColumn]
) -> States:
    """Return some of the states, and forget how the others came about."""
    left, owed, cost = states
    if len(rows) == len(cost):
        return states
    if len(parents) > 1:  # the first is the state before anything was bought
        parents[-1] = parents[-1][rows]
        taken[-1] = taken[-1][rows]
    return left[rows], owed[rows], cost[rows]


@compiled
def _bought(
    offer: tuple[OfferColumns, int, Prices],
    states: States,
    guide: Guide,
    most_states: int,
    less_base: float,
) -> tuple[States, IntColumn, IntColumn, float]:
    """Carry every state on with every option of an offer, as far as it can end well.

    Returns the states, whence and with which option each came, and what the best of
    those that were left out promised.
    """
    offers, place, _ = offer
    left, owed, _ = states
    rows, options, promise, paid = _promising(offer, states, guide, less_base)
    left_out = np.inf
    kept = np.arange(len(rows))
    if len(rows) > most_states:
        order = np.argsort(promise, kind="mergesort")
        left_out = promise[order[most_states]]
        kept = np.sort(order[:most_states])
    new_left = np.empty((len(kept), left.shape[1]))
    for new in range(len(kept)):
        new_left[new] = left[rows[kept[new]]]
        amount = offers.amount_base[offers.starts[place] + options[kept[new]]]
        new_left[new, offers.stock_class[place]] += amount
    new_states = new_left, owed[rows[kept]], paid[kept]
    return new_states, rows[kept], options[kept], left_out


@compiled
def _promising(
    offer: tuple[OfferColumns, int, Prices],
    states: States,
    guide: Guide,
    less_base: float,
) -> tuple[IntColumn, IntColumn, FloatColumn, FloatColumn]:
    """Return which states with which options can end better than the best known.

    With what each promises to cost at least in all, and what is paid by then.
    """
    offers, place, prices = offer
    left, owed, cost = states
    to_go = guide.to_go
    first, after = offers.starts[place], offers.starts[place + 1]
    if prices.is_closed[place]:
        after = first + 1
    most = len(cost) * (after - first)
    rows, options = np.empty(most, dtype=np.int64), np.empty(most, dtype=np.int64)
    promise, paid = np.empty(most), np.empty(most)
    found, last_point = 0, to_go.cost.shape[1] - 1
    for row in range(len(cost)):
        there = left[row].sum() - owed[row] - less_base
        for of in range(first, after):
            price = prices.rate[place] * offers.cost[of]
            if offers.is_used[of]:
                price += prices.charge[place]
            bought = there + offers.amount_base[of]
            point = int(np.ceil(bought / to_go.step_base - 1e-9))
            rest = to_go.cost[place + 1, min(max(point, 0), last_point)]
            value = cost[row] + price + rest
            if value <= guide.most_value - SAME_MONEY and value < np.inf:
                rows[found], options[found] = row, of - first
                promise[found], paid[found] = value, cost[row] + price
                found += 1
    return rows[:found], options[:found], promise[:found], paid[:found]


@compiled
def _served(task: TaskColumns, states: States, day: int) -> IntColumn:
    """Take the day's use, earliest use-by first; return the states that serve it."""
    left, owed, _ = states
    rows, found = np.empty(len(owed), dtype=np.int64), 0
    for row in range(len(owed)):
        needed = owed[row] + task.used_base[day]
        for place in range(left.shape[1]):
            used = min(left[row, place], needed)
            left[row, place] -= used
            needed -= used
        owed[row] = needed
        if needed <= task.most_owed_base[day] + task.tolerance_base:
            rows[found] = row
            found += 1
    return rows[:found]


@compiled
def _enough(task: TaskColumns, states: States, day: int) -> IntColumn:
    """Return the states that stand high enough at the close of a day."""
    left, owed, _ = states
    least = task.least_closing_base[day] - task.tolerance_base
    rows, found = np.empty(len(owed), dtype=np.int64), 0
    for row in range(len(owed)):
        if left[row].sum() - owed[row] >= least:
            rows[found] = row
            found += 1
    return rows[:found]


@compiled
def unbeaten(states: States, most_useful_base: float) -> IntColumn:
    """Return the rows of the states that no other beats, the cheapest first."""
    left, owed, cost = states
    count, classes = left.shape
    fresher, total = np.empty((count, classes)), np.empty(count)
    for row in range(count):
        amount, total[row] = 0.0, 0.0
        for place in range(classes - 1, -1, -1):
            amount += left[row, place]
            figure = min(amount, most_useful_base) - owed[row]
            fresher[row, place] = figure
            total[row] -= figure
    by_total = np.argsort(total, kind="mergesort")
    order = by_total[np.argsort(cost[by_total], kind="mergesort")]
    kept, found = np.empty(count, dtype=np.int64), 0
    for row in order:
        is_beaten = False
        for other in kept[:found]:
            beats = True
            for place in range(classes):
                if fresher[other, place] < fresher[row, place] - SAME_BASE:
                    beats = False
                    break
            if beats:
                is_beaten = True
                break
        if not is_beaten:
            kept[found] = row
            found += 1
    return kept[:found]
