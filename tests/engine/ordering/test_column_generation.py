"""Bounds at any prices, beside every number of packs that a tiny kitchen can order."""

import itertools
from dataclasses import dataclass
from random import Random

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.column_generation.master import Duals, State
from planning.engine.ordering.column_generation.pricing_rounds import generate, price
from planning.engine.ordering.heuristics.first_orders import find_first_orders
from tests.engine.ordering.busy_kitchens import busy_kitchens
from tests.engine.ordering.random_kitchens import problem_of
from tests.engine.ordering.test_best_orders import (
    cost_of,
    flood,
    lacks_more,
    outcome_of,
)
from tests.engine.simulator import Truck
from tests.engine.usual_questions import butter, day

MOST_PACKS_BY_CELLS = (0, 30, 17, 7, 4, 2, 2, 1, 1)  # some hundreds of ways at most
SLACK = 1e-6


@dataclass
class Known:
    """Orders that will do: what they cost, and how each delivery comes."""

    cost: float
    how: tuple[State, ...]  # by delivery: CLOSED, PAID or FREE

    def keeps_to(self, states):
        return all(
            self.how[truck] == state
            or (state == State.OPEN and self.how[truck] != State.CLOSED)
            for truck, state in states.items()
        )


def all_that_will_do(kitchen, used, problem):
    """Return every order plan of few packs that will do; None where they are many."""
    cells = [
        (number, place)
        for number, truck in enumerate(problem.trucks)
        for place, pack in enumerate(kitchen.packs)
        if pack.supplier == truck.supplier
    ]
    if len(cells) >= len(MOST_PACKS_BY_CELLS):
        return None
    counts = range(MOST_PACKS_BY_CELLS[len(cells)] + 1)
    least = outcome_of(kitchen, used, flood(kitchen))
    found = []
    for packs in itertools.product(counts, repeat=len(cells)):
        ordered = {}
        for (number, place), count in zip(cells, packs, strict=True):
            if count:
                ordered.setdefault(number, {})[place] = count
        trucks = {
            number: Truck(
                problem.trucks[number].supplier,
                problem.trucks[number].deliver_on,
                mine,
            )
            for number, mine in ordered.items()
        }
        outcome = outcome_of(kitchen, used, trucks.values())
        if outcome.broken_rules or lacks_more(kitchen, used, outcome, least):
            continue
        how = [
            how_it_comes(kitchen, used, trucks.get(number))
            for number in range(len(problem.trucks))
        ]
        found.append(Known(cost_of(outcome), tuple(how)))
    return found


def how_it_comes(kitchen, used, truck):
    if truck is None:
        return State.CLOSED
    alone = outcome_of(kitchen, used, [truck])
    has_fee = kitchen.suppliers[truck.supplier].delivery_fee > 0
    return State.FREE if has_fee and not alone.fees else State.PAID


def shared(problem):
    return [number for number, terms in enumerate(problem.terms) if terms.is_shared]


def duals_of(problem, dice):
    """Prices such as a linear programme could say, or any others."""
    duals = Duals.nothing(problem)
    for truck in shared(problem):
        duals.value[truck] = dice.choice([0.0, 0.0, 0.3, 0.9, 1.0])
        for number, task in enumerate(problem.tasks):
            if any(offer.delivery == truck for offer in task.offers):
                duals.charge[number, truck] = dice.choice([0.0, 0.5, 2.0, 4.0, 9.0])
    return duals


def states_of(problem, dice):
    states = {}
    for truck in shared(problem):
        some = [None, None, State.CLOSED, State.OPEN, State.PAID]
        if problem.terms[truck].free_goods is not None:
            some.append(State.FREE)
        if state := dice.choice(some):
            states[truck] = state
    return states


def least_of(known, states):
    return min((one.cost for one in known if one.keeps_to(states)), default=np.inf)


def new_search(problem):
    return BestSoFar(problem, QUICK, lambda: 0.0, lambda *_: None, lambda: False)


@settings(max_examples=70, deadline=None)
@given(busy_kitchens(), st.integers(0, 10**6))
def test_at_any_prices_no_orders_that_will_do_cost_less_than_the_bound(case, seed):
    kitchen, used = case
    problem, dice = problem_of(kitchen, used), Random(seed)
    known = all_that_will_do(kitchen, used, problem)
    assume(known)
    found, least = new_search(problem), least_of(known, {})

    for _ in range(5):
        duals = duals_of(problem, dice)
        assert price(found, duals, {})[0] <= least + SLACK
        assert price(found, duals, {}, -np.inf, is_longest=True)[0] <= least + SLACK

    assert found.bound <= least + SLACK


@settings(max_examples=70, deadline=None)
@given(busy_kitchens(), st.integers(0, 10**6))
def test_a_bound_holds_for_orders_that_keep_to_what_is_decided(case, seed):
    kitchen, used = case
    problem, dice = problem_of(kitchen, used), Random(seed)
    known = all_that_will_do(kitchen, used, problem)
    assume(known)
    found = new_search(problem)

    for _ in range(6):
        states, duals = states_of(problem, dice), duals_of(problem, dice)
        least = least_of(known, states)
        assert price(found, duals, states)[0] <= least + SLACK
        assert price(found, duals, states, -np.inf)[0] <= least + SLACK
        bound, centre, _ = generate(found, states, None, 8, floor=-1e9)
        assert bound <= least + SLACK
        assert price(found, centre, states)[0] <= least + SLACK

    assert found.bound <= least_of(known, {}) + SLACK


def test_orders_are_proven_within_a_ten_thousandth_of_what_is_paid_and_no_further():
    # Two bags of 10 at $5.00, all used up: $10.00 is paid.
    kitchen = butter()
    found = new_search(problem_of(kitchen, {(0, day(3)): 20.0}))
    price(found, Duals.nothing(found.problem), {})
    find_first_orders(found)
    assert (found.best.will_do, found.best.paid) == (True, 10.0)

    gaps = (0.5e-4, 2e-4, 50e-4)
    found_proven, is_settled = [], []
    for gap in gaps:
        found.bound = found.best.cost - gap * 10.0
        found_proven.append(found.is_proven)
        is_settled.append(found.is_settled(found.bound))

    assert found_proven == is_settled == [True, False, False]
