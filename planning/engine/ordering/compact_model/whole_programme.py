"""The whole question of ordering as one mixed-integer programme, for few items.

It states all that the search states, and that a line may bring more than is of use.
So its bound holds for every set of orders, and its answer, where it is proven, is the
best of them all.
"""

from collections.abc import Callable
from dataclasses import dataclass

from planning.engine.ordering.column_generation.solver import Limits
from planning.engine.ordering.compact_model.lines import WholeLines
from planning.engine.ordering.compact_model.programmes import Programme
from planning.engine.ordering.compact_model.shelves import add_shelf
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Counts


@dataclass(frozen=True, slots=True)
class Whole:
    """Orders, and what none can cost less than, net of what is left over."""

    counts: Counts | None  # None: none were found
    bound: float


def best_whole(
    problem: Problem,
    *,
    seconds: float,
    nodes: int,
    cutoff: float | None,
    should_stop: Callable[[], bool],
) -> Whole:
    """Return the best orders within the limits.

    With a cutoff only orders that cost no more are looked for; where there are none
    the cutoff is the bound. The bound holds for orders that will do: that leave nothing
    short that could be helped, and reach every minimum. It is infinite where there
    are none.
    """
    programme = Programme()
    lines = WholeLines(problem, programme)
    for task, offers in zip(problem.tasks, lines.offers, strict=True):
        add_shelf(programme, task, offers)
    answer = programme.solve(Limits(nodes, seconds), cutoff, should_stop)
    if answer.values is None:
        return Whole(None, answer.bound)
    return Whole(lines.counts(answer.values.tolist()), answer.bound)
