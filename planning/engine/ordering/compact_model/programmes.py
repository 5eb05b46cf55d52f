"""A mixed-integer programme, row by row, and the solver's answer to it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import accumulate
from typing import Any

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.column_generation.solver import (
    INFINITY,
    NO_ANSWER,
    Columns,
    Factors,
    Limits,
    LinearProgramme,
    programme_of,
    quiet_solver,
    set_limits,
)

Entries = list[tuple[int, float]]  # column and factor; a column may come twice

LEAST_GAP = 1e-5
# What the solver's own tolerances can add to a bound.
BOUND_SLACK = 1e-6


def times(entries: Entries, factor: float) -> Entries:
    """Return entries so many times."""
    return [(column, value * factor) for column, value in entries]


def minus(entries: Entries) -> Entries:
    """Return entries with the other sign."""
    return times(entries, -1.0)


@dataclass(frozen=True, slots=True)
class Solution:
    """What the solver found."""

    values: FloatColumn | None  # of every column; None: nothing was found
    bound: float  # nothing costs less; infinite where there is no answer at all


class Programme:
    """Columns and rows of the least cost."""

    def __init__(self) -> None:
        self._cost: list[float] = []
        self._lower: list[float] = []
        self._upper: list[float] = []
        self._is_whole: list[bool] = []
        self._rows: list[tuple[dict[int, float], float, float]] = []
        # The solver wants at least one of each, and one that is whole.
        self.row([(self.column(is_whole=True), 1.0)])

    def column(
        self,
        cost: float = 0.0,
        upper: float = INFINITY,
        *,
        lower: float = 0.0,
        is_whole: bool = False,
    ) -> int:
        """Add a column and return its number."""
        self._cost.append(cost)
        self._lower.append(lower)
        self._upper.append(upper)
        self._is_whole.append(is_whole)
        return len(self._cost) - 1

    def row(
        self,
        entries: Iterable[tuple[int, float]],
        lower: float = -INFINITY,
        upper: float = INFINITY,
    ) -> None:
        """Add a row."""
        summed: dict[int, float] = {}
        for column, factor in entries:
            summed[column] = summed.get(column, 0.0) + factor
        self._rows.append((summed, lower, upper))

    def solve(
        self, limits: Limits, cutoff: float | None, should_stop: Callable[[], bool]
    ) -> Solution:
        """Return the best that is found within the limits.

        With a cutoff only what costs no more is looked for.
        """
        solver = quiet_solver()
        solver.passModel(self._lp())
        solver.setOptionValue("mip_rel_gap", LEAST_GAP)
        if cutoff is not None:
            solver.setOptionValue("objective_bound", cutoff)
        set_limits(solver, limits, should_stop)
        solver.run()
        if solver.getModelStatus() in NO_ANSWER and _is_at_once(solver):
            # Its presolve has called what has an answer infeasible.
            solver.setOptionValue("presolve", "off")
            solver.run()
        return _answer(solver, cutoff)

    def _lp(self) -> LinearProgramme:
        entries = [of_row for of_row, _, _ in self._rows]
        return programme_of(
            Columns(self._cost, self._lower, self._upper, self._is_whole),
            [lower for _, lower, _ in self._rows],
            [upper for _, _, upper in self._rows],
            Factors(
                [0, *accumulate(len(of_row) for of_row in entries)],
                [column for of_row in entries for column in of_row],
                [factor for of_row in entries for factor in of_row.values()],
                is_by_row=True,
            ),
        )


def _is_at_once(solver: Any) -> bool:
    return int(solver.getInfo().mip_node_count) <= 1


def _answer(solver: Any, cutoff: float | None) -> Solution:
    solution, info = solver.getSolution(), solver.getInfo()
    limit = INFINITY if cutoff is None else cutoff
    if solver.getModelStatus() in NO_ANSWER:
        return Solution(None, limit)
    bound = float(info.mip_dual_bound)
    bound = min(bound - BOUND_SLACK * max(1.0, abs(bound)), limit)
    values = np.array(solution.col_value) if solution.value_valid else None
    return Solution(values, bound)
