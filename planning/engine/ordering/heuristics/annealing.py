"""A good whole choice among known schedules, by many small changes of one item.

Simulated annealing: one item at a time takes another of its schedules; what costs
less always stays, what costs more now and then, ever less often. The chances are
drawn the same way in every run.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planning.engine.ordering import kernels
from planning.engine.ordering.column_generation.master import MasterColumn, truck_modes
from planning.engine.ordering.instance.problems import TruckTerms
from planning.engine.ordering.kernels.columns import Modes, Schedules
from planning.engine.ordering.pricing.tasks import Choice

NO_MODE = 1e12
LEAST_HEAT = 0.01  # where nearly all is free


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
    columns: Sequence[MasterColumn],
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
    best = kernels.anneal(
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
    columns = [
        MasterColumn(0, (), 0.0, (), ()),
        MasterColumn(0, (1,), 1.0, (0,), (1.0,)),
    ]
    changed_by_chance(terms, columns, {}, 1_000, COOLINGS[0])


def _modes_of(terms: Sequence[TruckTerms]) -> Modes:
    """Return the modes of deliveries as columns."""
    fee, asked = np.full((len(terms), 2), NO_MODE), np.zeros((len(terms), 2))
    for truck, of_truck in enumerate(terms):
        for mode, (mine, goods) in enumerate(truck_modes(of_truck)):
            fee[truck, mode], asked[truck, mode] = mine, goods
    return Modes(fee, asked)


def _schedules_of(columns: Sequence[MasterColumn]) -> Schedules:
    """Return columns, which go by item, for machine code."""
    per_task = np.bincount([column.task for column in columns])
    return Schedules(
        np.concatenate([[0], np.cumsum(per_task)]).astype(np.int64),
        np.array([column.net_cost for column in columns]),
        np.cumsum([0, *(len(column.trucks) for column in columns)]),
        np.array([t for column in columns for t in column.trucks], dtype=np.int64),
        np.array([g for column in columns for g in column.goods], dtype=np.float64),
    )
