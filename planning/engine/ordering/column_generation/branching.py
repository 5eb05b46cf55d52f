"""Branching: what is decided about deliveries, and what is still open.

Decided first is whether a delivery comes at all, then whether with its fee; what the
linear programme leaves nearest to one half goes first.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn
from planning.engine.ordering.column_generation.master import (
    Duals,
    Solved,
    State,
    States,
)
from planning.engine.ordering.instance.options import HALF_CENT
from planning.engine.ordering.instance.problems import Problem, TruckTerms

LEAST_SHARE = 1e-4  # less than this is nothing, and all but this is all
MOSTLY = 0.5  # a delivery that is more open than this comes
NEARLY = 0.05  # a doubt no greater than this is decided in a dive
AGREED = 0.1  # a doubt no greater than this is none, if the best choice says the same


@dataclass(frozen=True, slots=True)
class BranchNode:
    """A node of branch and bound: what is decided, with its prices and its answer."""

    states: States
    centre: Duals
    solved: Solved


def decisions(node: BranchNode) -> list[dict[int, State]]:
    """Return the two ways to decide what the answer leaves most open."""
    solved = node.solved
    open_ = {truck: solved.openness(truck) for truck, mode in solved.modes if not mode}
    undecided = [
        (abs(share - 0.5), truck)
        for truck, share in open_.items()
        if truck not in node.states and LEAST_SHARE < share < 1 - LEAST_SHARE
    ]
    if undecided:
        truck = min(undecided)[1]
        return [{truck: State.CLOSED}, {truck: State.OPEN}]
    undecided = [
        (abs(solved.modes[truck, 1] - 0.5), truck)
        for truck, share in open_.items()
        if (truck, 1) in solved.modes
        and node.states.get(truck, State.OPEN) == State.OPEN
        and share > 1 - LEAST_SHARE
        and LEAST_SHARE < solved.modes[truck, 1] < 1 - LEAST_SHARE
    ]
    if not undecided:
        return []
    truck = min(undecided)[1]
    if truck not in node.states:  # a closed delivery is a third way
        return [{truck: State.CLOSED}, {truck: State.OPEN}]
    return [{truck: State.PAID}, {truck: State.FREE}]


def open_in(problem: Problem, solved: Solved) -> BoolColumn:
    """Return the deliveries that an answer takes for more than half."""
    is_open = np.array([not terms.is_shared for terms in problem.terms])
    for truck, mode in solved.modes:
        if mode == 0:
            is_open[truck] = solved.openness(truck) > MOSTLY
    return is_open


def nearly_decided(solved: Solved, states: States) -> dict[int, State]:
    """Return what an answer leaves nearly no doubt about, or its surest doubt."""
    doubts: list[tuple[float, int, State]] = []
    for truck, mode in solved.modes:
        if mode == 0 and truck not in states:
            paid, free = solved.modes[truck, 0], solved.modes.get((truck, 1), 0.0)
            shares = {State.CLOSED: 1 - paid - free, State.PAID: paid, State.FREE: free}
            likeliest = max(shares, key=lambda state: shares[state])
            doubts.append((1 - shares[likeliest], truck, likeliest))
    if not doubts:
        return {}
    limit = max(NEARLY, min(doubts)[0])
    return {truck: state for doubt, truck, state in doubts if doubt <= limit}


def agreed(
    terms: Sequence[TruckTerms], solved: Solved, goods: FloatColumn
) -> dict[int, State]:
    """Return what an answer leaves little doubt about and a choice with goods does."""
    states = {}
    for truck, mode in solved.modes:
        if mode == 0:
            state = _state_with(terms[truck], float(goods[truck]))
            paid, free = solved.modes[truck, 0], solved.modes.get((truck, 1), 0.0)
            shares = {State.CLOSED: 1 - paid - free, State.PAID: paid, State.FREE: free}
            if shares[state] > 1 - AGREED:
                states[truck] = state
    return states


def _state_with(terms: TruckTerms, goods: float) -> State:
    if goods <= 0:
        return State.CLOSED
    is_free = terms.free_goods is not None and goods >= terms.free_goods - HALF_CENT
    return State.FREE if is_free else State.PAID
