"""The solver of linear and integer programmes: the only module that knows HiGHS."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import highspy
import numpy as np
from highspy import _core

from planning.engine.kitchen import FloatColumn, IntColumn

INFINITY = highspy.kHighsInf
LinearProgramme = highspy.HighsLp
SECONDS_BETWEEN_ASKS = 0.1
# No cost goes down without end, so the second is the first.
NO_ANSWER = (
    highspy.HighsModelStatus.kInfeasible,
    highspy.HighsModelStatus.kUnboundedOrInfeasible,
)
INTERRUPTS = (
    _core.cb.HighsCallbackType.kCallbackMipInterrupt,
    _core.cb.HighsCallbackType.kCallbackSimplexInterrupt,
)


@dataclass(frozen=True, slots=True)
class Limits:
    """How long the solver may look."""

    nodes: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Columns:
    """The unknowns of a programme: what one unit costs, and how much there may be."""

    cost: Sequence[float]
    lower: Sequence[float]
    upper: Sequence[float]
    is_whole: Sequence[bool]


@dataclass(frozen=True, slots=True)
class Factors:
    """The matrix, one vector after the other: number n begins at `starts[n]`."""

    starts: Sequence[int]
    index: Sequence[int] | IntColumn
    value: Sequence[float] | FloatColumn
    is_by_row: bool


def programme_of(
    columns: Columns,
    row_lower: Sequence[float] | FloatColumn,
    row_upper: Sequence[float] | FloatColumn,
    factors: Factors,
) -> LinearProgramme:
    """Return a programme of least cost as the solver takes it."""
    programme = highspy.HighsLp()
    programme.num_col_, programme.num_row_ = len(columns.cost), len(row_lower)
    programme.col_cost_ = np.array(columns.cost)
    programme.col_lower_ = np.array(columns.lower)
    programme.col_upper_ = np.array(columns.upper)
    programme.row_lower_ = np.array(row_lower)
    programme.row_upper_ = np.array(row_upper)
    formats, matrix = highspy.MatrixFormat, programme.a_matrix_
    matrix.format_ = formats.kRowwise if factors.is_by_row else formats.kColwise
    matrix.start_ = np.array(factors.starts, dtype=np.int32)
    matrix.index_ = np.array(factors.index, dtype=np.int32)
    matrix.value_ = np.array(factors.value, dtype=np.float64)
    whole, part = highspy.HighsVarType.kInteger, highspy.HighsVarType.kContinuous
    programme.integrality_ = [whole if is_ else part for is_ in columns.is_whole]
    return programme


def quiet_solver() -> Any:
    """Return a solver that prints nothing and always does the same.

    It is the bare one: the one for general use prints a line before it can be told
    not to, and that line would stand in the output of a command.
    """
    solver = _core._Highs()  # noqa: SLF001 - the bare one
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("random_seed", 0)
    solver.setOptionValue("threads", 1)
    return solver


def set_limits(solver: Any, limits: Limits, should_stop: Callable[[], bool]) -> None:
    """Let the solver look no longer than is said, and ask now and then."""
    solver.setOptionValue("mip_max_nodes", limits.nodes)
    solver.setOptionValue("time_limit", limits.seconds)
    ask_at = 0.0

    def asked(*told: Any) -> None:  # the kind, words, figures, the answer, no more
        nonlocal ask_at
        if time.monotonic() >= ask_at:
            told[3].user_interrupt = should_stop()
            ask_at = time.monotonic() + SECONDS_BETWEEN_ASKS

    solver.setCallback(asked, None)
    for kind in INTERRUPTS:
        solver.startCallback(kind)
