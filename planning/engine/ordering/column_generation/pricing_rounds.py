"""Schedules and prices of deliveries, round by round, until prices say no more.

At given prices every item by itself can do no better than it does: that is the bound.
The rounds are those of column generation. The master's dual prices are smoothed towards
the best so far, the stability centre, as prices that jump make for poor schedules.
"""

from collections.abc import Sequence

import numpy as np

from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.column_generation.master import (
    Duals,
    Solved,
    State,
    States,
    trucks_bound,
)
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.tasks import PricedChoice

PART_CENT = 0.01  # what rounding to the cent can take off an offer
FIRST_ROUNDS = 16  # whose bounds say little yet
PATIENCE = 5  # rounds within which the bound has to rise
STALLED = 1e-4  # of the cost; a rise by less is none
ROOT_SHARE = 0.6  # of the time, at most, before whole choices are made


def generate(
    search: BestSoFar, states: States, centre: Duals | None, rounds: int, floor: float
) -> tuple[float, Duals, Solved]:
    """Find schedules and prices when something is decided about deliveries.

    `centre` are prices that are known to be good, `floor` a bound that is known; where
    it is endless none is asked for.
    Returns the best bound, its prices and the last answer of the master.
    """
    search.master.decide(states)
    best = -np.inf
    solved = search.master.solve()
    history = [best]
    for number in range(rounds):
        if _is_stalling(search, history, solved.cost):
            break
        at = solved.duals
        if centre is not None and rounds - number > 1:
            at = at.towards(centre, search.effort.steadiness)
        bound, added = price(search, at, states, max(best, floor))
        if bound > best or centre is None:
            best, centre = max(best, bound), at
        if not added and at is not solved.duals:
            bound, added = price(search, solved.duals, states, max(best, floor))
            if bound > best:
                best, centre = bound, solved.duals
        history.append(best)
        search.told(search, "pricing")
        if not added or search.is_settled(best):
            break
        solved = search.master.solve()
        if solved.cost - best <= search.effort.close_enough * abs(solved.cost):
            break
    centre = centre or solved.duals
    if floor > -np.inf:
        best = _last_look(search, states, centre, solved.cost, best)
    return best, centre, solved


def _last_look(
    search: BestSoFar, states: States, centre: Duals, cost: float, best: float
) -> float:
    """Return the bound when items without a certain price get the longest look."""
    is_close = cost - best <= search.effort.close_enough * abs(cost)
    if is_close or search.is_settled(best):
        return best
    bound, _ = price(search, centre, states, best, is_longest=True)
    return max(best, bound)


def price(
    search: BestSoFar,
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
    problem = search.problem
    bound = trucks_bound(problem.terms, duals, states)
    bound -= _unseen_cost(problem)
    is_closed = np.zeros(len(problem.trucks), dtype=np.bool_)
    is_closed[[n for n, state in states.items() if state == State.CLOSED]] = True
    prices = [Prices(charge, 1 - duals.value, is_closed) for charge in duals.charge]
    priced = []
    for pricer, mine in zip(search.pricers, prices, strict=True):
        search.check()
        priced.append(pricer.cheapest(mine))
    if bound + sum(mine.value for mine in priced) > to_beat:
        priced = _closer(search, priced, prices, is_longest=is_longest)
    added = search.master.add(
        [
            search.column(number, mine.choice)
            for number, mine in enumerate(priced)
            if mine.choice is not None
        ]
    )
    bound += sum(mine.bound for mine in priced)
    if not states:  # nothing is decided: it holds for all
        search.bound = max(search.bound, bound)
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
    search: BestSoFar,
    priced: Sequence[PricedChoice],
    prices: Sequence[Prices],
    *,
    is_longest: bool,
) -> list[PricedChoice]:
    closer = []
    for pricer, first, mine in zip(search.pricers, priced, prices, strict=True):
        search.check()
        closer.append(pricer.closer(first, mine, is_longest=is_longest))
    return closer


def _is_stalling(search: BestSoFar, history: Sequence[float], cost: float) -> bool:
    """Whether rounds bring too little, or the time is better spent on choosing."""
    if search.seconds_left < (1 - ROOT_SHARE) * search.effort.seconds:
        return len(history) > 1
    if len(history) <= FIRST_ROUNDS:
        return False
    return history[-1] - history[-PATIENCE] < STALLED * abs(cost)
