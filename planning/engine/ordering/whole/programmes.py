"""A mixed-integer programme, row by row, and the solver's answer to it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.proving.solver import (
    INFINITY,
    Limits,
    quiet_solver,
    set_limits,
)

Entries = list[tuple[int, float]]  # column and factor; a column may come twice

LEAST_GAP = 1e-5
# What the solver's own tolerances can add to a bound.
BOUND_SLACK = 1e-6
# No cost goes down without end, so the second is the first.
NO_ANSWER = (
    highspy.HighsModelStatus.kInfeasible,
    highspy.HighsModelStatus.kUnboundedOrInfeasible,
)


def times(entries: Entries, factor: float) -> Entries:
    """Return entries so many times."""
    return [(column, value * factor) for column, value in entries]


def minus(entries: Entries) -> Entries:
    """Return entries with the other sign."""
    return times(entries, -1.0)


@dataclass(frozen=True, slots=True)
class Answer:
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
    ) -> Answer:
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

    def _lp(self) -> highspy.HighsLp:
        programme = highspy.HighsLp()
        programme.num_col_, programme.num_row_ = len(self._cost), len(self._rows)
        programme.col_cost_ = np.array(self._cost)
        programme.col_lower_ = np.array(self._lower)
        programme.col_upper_ = np.array(self._upper)
        programme.row_lower_ = np.array([lower for _, lower, _ in self._rows])
        programme.row_upper_ = np.array([upper for _, _, upper in self._rows])
        counts = [len(entries) for entries, _, _ in self._rows]
        columns = [column for entries, _, _ in self._rows for column in entries]
        factors = [
            factor for entries, _, _ in self._rows for factor in entries.values()
        ]
        matrix = programme.a_matrix_
        matrix.format_ = highspy.MatrixFormat.kRowwise
        matrix.start_ = np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
        matrix.index_ = np.array(columns, dtype=np.int32)
        matrix.value_ = np.array(factors, dtype=np.float64)
        whole, part = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
        programme.integrality_ = [whole if is_ else part for is_ in self._is_whole]
        return programme


def _is_at_once(solver: Any) -> bool:
    return int(solver.getInfo().mip_node_count) <= 1


def _answer(solver: Any, cutoff: float | None) -> Answer:
    solution, info = solver.getSolution(), solver.getInfo()
    limit = INFINITY if cutoff is None else cutoff
    if solver.getModelStatus() in NO_ANSWER:
        return Answer(None, limit)
    bound = float(info.mip_dual_bound)
    bound = min(bound - BOUND_SLACK * max(1.0, abs(bound)), limit)
    values = np.array(solution.col_value) if solution.value_valid else None
    return Answer(values, bound)
