"""A good whole choice among known schedules, by many small changes of one item.

Simulated annealing: one item at a time takes another of its schedules; what costs
less always stays, what costs more now and then, ever less often. The chances are
drawn the same way in every run.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.pricing.compiled import compiled
from planning.engine.ordering.pricing.tasks import Choice, Matrix
from planning.engine.ordering.proving.master import Column, truck_modes
from planning.engine.ordering.question.problems import TruckTerms

NO_MODE = 1e12
STAGES = 200  # of cooling down
LEAST_GAIN = 1e-9
LEAST_HEAT = 0.01  # where nearly all is free


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


@dataclass(frozen=True, slots=True)
class Cooling:
    """How a choice by chance cools down.

    Heat is in parts of what an item costs on average.
    """

    first_heat: float
    last_heat: float
    first_loss: float  # of goods that only fill a delivery up
    hardens_after: float  # part of the way after which they are a loss entirely


COOLINGS = (Cooling(0.15, 0.0015, 0.2, 0.8), Cooling(0.05, 0.0015, 0.2, 0.8))


def changed_by_chance(
    terms: Sequence[TruckTerms],
    columns: Sequence[Column],
    known: Mapping[int, Choice],
    changes: int,
    cooling: Cooling,
) -> list[Choice]:
    """Return the best choice that was come by, one schedule an item.

    It starts from the known choice, as far as its columns are among those given.
    """
    columns = sorted(columns, key=lambda column: column.task)
    schedules = _schedules_of(columns)
    start = schedules.starts[:-1].copy()
    for place, column in enumerate(columns):
        if known.get(column.task) == column.choice:
            start[column.task] = place
    cost = sum(columns[place].net_cost for place in start.tolist())
    heat = max(LEAST_HEAT, abs(cost) / len(start))
    best = _anneal(
        schedules,
        _modes_of(terms),
        start,
        changes,
        (heat * cooling.first_heat, heat * cooling.last_heat),
        (cooling.first_loss, cooling.hardens_after),
    )
    return [columns[place].choice for place in best.tolist()]


def call_annealing() -> None:
    """Call what becomes machine code, so that no search waits for it later."""
    terms = [TruckTerms(fee=1.0, minimum=0.0, free_from=None)]
    columns = [Column(0, (), 0.0, (), ()), Column(0, (1,), 1.0, (0,), (1.0,))]
    changed_by_chance(terms, columns, {}, STAGES, COOLINGS[0])


def _modes_of(terms: Sequence[TruckTerms]) -> Modes:
    """Return the modes of deliveries as columns."""
    fee, asked = np.full((len(terms), 2), NO_MODE), np.zeros((len(terms), 2))
    for truck, of_truck in enumerate(terms):
        for mode, (mine, goods) in enumerate(truck_modes(of_truck)):
            fee[truck, mode], asked[truck, mode] = mine, goods
    return Modes(fee, asked)


def _schedules_of(columns: Sequence[Column]) -> Schedules:
    """Return columns, which go by item, for machine code."""
    per_task = np.bincount([column.task for column in columns])
    return Schedules(
        np.concatenate([[0], np.cumsum(per_task)]).astype(np.int64),
        np.array([column.net_cost for column in columns]),
        np.cumsum([0, *(len(column.trucks) for column in columns)]),
        np.array([t for column in columns for t in column.trucks], dtype=np.int64),
        np.array([g for column in columns for g in column.goods], dtype=np.float64),
    )


class Load(NamedTuple):
    """What is on each delivery."""

    goods: FloatColumn
    users: IntColumn  # how many items


@compiled
def _anneal(
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
