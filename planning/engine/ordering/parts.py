"""Parts of the ordering question: what is decided about deliveries, what is open."""

from dataclasses import dataclass

import numpy as np

from planning.engine.kitchen import BoolColumn
from planning.engine.ordering.master import Duals, Solved, State, States
from planning.engine.ordering.problems import Problem

LEAST_SHARE = 1e-4
MOSTLY = 0.5


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the question: what is decided, with its prices and its answer."""

    states: States
    centre: Duals
    solved: Solved


def decisions(part: Part) -> list[dict[int, State]]:
    """Return the two ways to decide what the answer leaves most open."""
    solved = part.solved
    open_ = {truck: solved.openness(truck) for truck, mode in solved.modes if not mode}
    undecided = [
        (abs(share - 0.5), truck)
        for truck, share in open_.items()
        if truck not in part.states and LEAST_SHARE < share < 1 - LEAST_SHARE
    ]
    if undecided:
        truck = min(undecided)[1]
        return [{truck: State.CLOSED}, {truck: State.OPEN}]
    undecided = [
        (abs(solved.modes[truck, 1] - 0.5), truck)
        for truck, share in open_.items()
        if (truck, 1) in solved.modes
        and part.states.get(truck, State.OPEN) == State.OPEN
        and share > 1 - LEAST_SHARE
        and LEAST_SHARE < solved.modes[truck, 1] < 1 - LEAST_SHARE
    ]
    if not undecided:
        return []
    truck = min(undecided)[1]
    if truck not in part.states:  # a closed delivery is a third way
        return [{truck: State.CLOSED}, {truck: State.OPEN}]
    return [{truck: State.PAID}, {truck: State.FREE}]


def open_in(problem: Problem, solved: Solved) -> BoolColumn:
    """Return the deliveries that an answer takes for more than half."""
    is_open = np.array([not terms.is_shared for terms in problem.terms])
    for truck, mode in solved.modes:
        if mode == 0:
            is_open[truck] = solved.openness(truck) > MOSTLY
    return is_open
