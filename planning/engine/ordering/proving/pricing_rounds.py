"""Schedules and prices of deliveries, round by round, until prices say no more.

At given prices every item by itself can do no better than it does: that is the bound.
The rounds are those of column generation. The master's dual prices are smoothed towards
the best so far, the stability centre, as prices that jump make for poor schedules.
"""

from collections.abc import Sequence

import numpy as np

from planning.engine.ordering.pricing.findings import Found
from planning.engine.ordering.pricing.items import Prices
from planning.engine.ordering.proving.best_so_far import BestSoFar
from planning.engine.ordering.proving.master import (
    Duals,
    Solved,
    State,
    States,
    trucks_bound,
)
from planning.engine.ordering.question.problems import Problem

PART_CENT = 0.01  # what rounding to the cent can take off an offer
FIRST_ROUNDS = 16  # whose bounds say little yet
PATIENCE = 5  # rounds within which the bound has to rise
STALLED = 1e-4  # of the cost; a rise by less is none
ROOT_SHARE = 0.6  # of the time, at most, before whole choices are made


def generate(
    found: BestSoFar, states: States, centre: Duals | None, rounds: int, floor: float
) -> tuple[float, Duals, Solved]:
    """Find schedules and prices when something is decided about deliveries.

    `centre` are prices that are known to be good, `floor` a bound that is known; where
    it is endless none is asked for.
    Returns the best bound, its prices and the last answer of the master.
    """
    found.master.decide(states)
    best = -np.inf
    solved = found.master.solve()
    history = [best]
    for number in range(rounds):
        if _is_stalling(found, history, solved.cost):
            break
        at = solved.duals
        if centre is not None and rounds - number > 1:
            at = at.towards(centre, found.effort.steadiness)
        bound, added = price(found, at, states, max(best, floor))
        if bound > best or centre is None:
            best, centre = max(best, bound), at
        if not added and at is not solved.duals:
            bound, added = price(found, solved.duals, states, max(best, floor))
            if bound > best:
                best, centre = bound, solved.duals
        history.append(best)
        found.told(found, "pricing")
        if not added or found.is_settled(best):
            break
        solved = found.master.solve()
        if solved.cost - best <= found.effort.close_enough * abs(solved.cost):
            break
    centre = centre or solved.duals
    if floor > -np.inf:
        best = _last_look(found, states, centre, solved.cost, best)
    return best, centre, solved


def _last_look(
    found: BestSoFar, states: States, centre: Duals, cost: float, best: float
) -> float:
    """Return the bound when items without a certain price get the longest look."""
    is_close = cost - best <= found.effort.close_enough * abs(cost)
    if is_close or found.is_settled(best):
        return best
    bound, _ = price(found, centre, states, best, is_longest=True)
    return max(best, bound)


def price(
    found: BestSoFar,
    duals: Duals,
    states: States,
    to_beat: float = np.inf,
    *,
    is_longest: bool = False,
) -> tuple[float, int]:
    """Price every item; return the bound and how many columns are new.

    Items whose price is not certain get a longer look where that can raise the bound
    above the one to beat.
    """
    problem = found.problem
    bound = trucks_bound(problem.terms, duals, states)
    bound -= _unseen_cost(problem)
    is_closed = np.zeros(len(problem.trucks), dtype=np.bool_)
    is_closed[[n for n, state in states.items() if state == State.CLOSED]] = True
    prices = [Prices(charge, 1 - duals.value, is_closed) for charge in duals.charge]
    priced = []
    for pricer, mine in zip(found.pricers, prices, strict=True):
        found.check()
        priced.append(pricer.cheapest(mine))
    if bound + sum(mine.value for mine in priced) > to_beat:
        priced = _closer(found, priced, prices, is_longest=is_longest)
    added = found.master.add(
        [
            found.column(number, mine.choice)
            for number, mine in enumerate(priced)
            if mine.choice is not None
        ]
    )
    bound += sum(mine.bound for mine in priced)
    if not states:  # nothing is decided: it holds for all
        found.bound = max(found.bound, bound)
    return bound, added


def _unseen_cost(problem: Problem) -> float:
    """Return by how much orders can cost less than any choice of options.

    Rounded lines can come out a cent lower together, and not every number of small
    packs is an option.
    """
    offers = [offer for task in problem.tasks for offer in task.offers]
    cents = PART_CENT * len(offers) if problem.has_part_cents else 0.0
    return cents + sum(offer.skipped_cost for offer in offers)


def _closer(
    found: BestSoFar,
    priced: Sequence[Found],
    prices: Sequence[Prices],
    *,
    is_longest: bool,
) -> list[Found]:
    closer = []
    for pricer, first, mine in zip(found.pricers, priced, prices, strict=True):
        found.check()
        closer.append(pricer.closer(first, mine, is_longest=is_longest))
    return closer


def _is_stalling(found: BestSoFar, history: Sequence[float], cost: float) -> bool:
    """Whether rounds bring too little, or the time is better spent on choosing."""
    if found.seconds_left < (1 - ROOT_SHARE) * found.effort.seconds:
        return len(history) > 1
    if len(history) <= FIRST_ROUNDS:
        return False
    return history[-1] - history[-PATIENCE] < STALLED * abs(cost)
