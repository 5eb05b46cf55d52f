"""Changes one item's schedule at a time, ever less often for the worse."""

import numpy as np

from planning.engine.kitchen import IntColumn
from planning.engine.ordering.kernels.columns import Load, Modes, Schedules
from planning.engine.ordering.kernels.compiled import compiled

STAGES = 200  # of cooling down
LEAST_GAIN = 1e-9


@compiled
def anneal(
    schedules: Schedules,
    modes: Modes,
    start: IntColumn,
    changes: int,
    heat: tuple[float, float],
    loss: tuple[float, float],
) -> IntColumn:
    """Return the best column of every item that was come by.

    `heat` is what a change may cost more, about, at first and at the end; `loss` is
    the first part of filling goods that is lost, and when all of them are.
    """
    np.random.seed(1)
    taken = start.copy()
    load = _load_of(schedules, taken, len(modes.fee))
    best, best_cost = taken.copy(), _cost(schedules, modes, taken, load)
    for stage in range(STAGES):
        done = stage / STAGES
        now = heat[0] * (heat[1] / heat[0]) ** done
        lost = min(1.0, loss[0] * (1.0 / loss[0]) ** (done / loss[1]))
        for _ in range(changes // STAGES):
            _change(schedules, modes, taken, load, now, lost)
        cost = _cost(schedules, modes, taken, load)
        if cost < best_cost - LEAST_GAIN:
            best_cost = cost
            best[:] = taken
    return best


@compiled
def _change(
    schedules: Schedules,
    modes: Modes,
    taken: IntColumn,
    load: Load,
    heat: float,
    lost: float,
) -> None:
    """Let one item take another schedule, or try and go back."""
    item = np.random.randint(0, len(taken))
    first, after = schedules.starts[item], schedules.starts[item + 1]
    new, old = np.random.randint(first, after), taken[item]
    if new == old:
        return
    more = _put(schedules, modes, load, old, -1, lost)
    more += _put(schedules, modes, load, new, 1, lost)
    if more <= 0 or np.random.random() < np.exp(-more / heat):
        taken[item] = new
        return
    _put(schedules, modes, load, new, -1, lost)
    _put(schedules, modes, load, old, 1, lost)


@compiled
def _put(
    schedules: Schedules, modes: Modes, load: Load, column: int, sign: int, lost: float
) -> float:
    """Put a column's goods on their deliveries, or off; return what that costs."""
    more: float = sign * schedules.net_cost[column]
    for use in range(schedules.uses[column], schedules.uses[column + 1]):
        truck = schedules.truck[use]
        more -= _truck_cost(modes, truck, load, lost)
        load.goods[truck] += sign * schedules.goods[use]
        load.users[truck] += sign
        more += _truck_cost(modes, truck, load, lost)
    return more


@compiled
def _truck_cost(modes: Modes, truck: int, load: Load, lost: float) -> float:
    """Return a delivery's fee and what is lost on goods that only fill it up."""
    best = 0.0
    if load.users[truck]:
        best = np.inf
        for mode in range(2):
            lacking = max(0.0, modes.asked[truck, mode] - load.goods[truck])
            best = min(best, float(modes.fee[truck, mode]) + lost * lacking)
    return best


@compiled
def _load_of(schedules: Schedules, taken: IntColumn, trucks: int) -> Load:
    load = Load(np.zeros(trucks), np.zeros(trucks, dtype=np.int64))
    for column in taken:
        for use in range(schedules.uses[column], schedules.uses[column + 1]):
            load.goods[schedules.truck[use]] += schedules.goods[use]
            load.users[schedules.truck[use]] += 1
    return load


@compiled
def _cost(schedules: Schedules, modes: Modes, taken: IntColumn, load: Load) -> float:
    cost = 0.0
    for column in taken:
        cost += schedules.net_cost[column]
    for truck in range(len(modes.fee)):
        cost += _truck_cost(modes, truck, load, 1.0)
    return cost
