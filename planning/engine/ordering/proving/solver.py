"""The solver of linear and integer programmes, as all of the house uses it."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import highspy
from highspy import _core

INFINITY = highspy.kHighsInf
SECONDS_BETWEEN_ASKS = 0.1
INTERRUPTS = (
    _core.cb.HighsCallbackType.kCallbackMipInterrupt,
    _core.cb.HighsCallbackType.kCallbackSimplexInterrupt,
)


@dataclass(frozen=True, slots=True)
class Limits:
    """How long the solver may look."""

    nodes: int
    seconds: float


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
