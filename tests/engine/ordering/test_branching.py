"""What is decided about deliveries: nothing is lost, and nothing is decided twice."""

from random import Random
from types import SimpleNamespace

import numpy as np
import pytest

from planning.engine.ordering.column_generation.branching import (
    BranchNode,
    agreed,
    decisions,
    nearly_decided,
)
from planning.engine.ordering.column_generation.master import Solved, State
from planning.engine.ordering.instance.problems import TruckTerms

COMES_AS = {
    State.CLOSED: {State.CLOSED},
    State.OPEN: {State.PAID, State.FREE},
    State.PAID: {State.PAID},
    State.FREE: {State.FREE},
    None: {State.CLOSED, State.PAID, State.FREE},
}
SHARES = (0.0, 0.04, 0.25, 0.5, 0.75, 0.96, 1.0)
CASES = range(2_000)


def solved_of(modes):
    return Solved(0.0, None, np.zeros(0), modes, is_artificial=False)


def drawn(seed):
    """What is decided, and an answer that keeps to it; a third come in one mode."""
    dice = Random(seed)
    states, modes = {}, {}
    for truck in range(dice.randint(1, 4)):
        can_be_free = dice.random() < 0.67
        some = [None, None, State.CLOSED, State.OPEN]
        some += [State.PAID, State.FREE] if can_be_free else []
        state = dice.choice(some)
        if state:
            states[truck] = state
        paid, free = shares_of(dice, state, can_be_free)
        modes[truck, 0] = paid
        if can_be_free:
            modes[truck, 1] = free
    return states, modes


def shares_of(dice, state, can_be_free):
    if state == State.CLOSED:
        return 0.0, 0.0
    openness = 1.0 if state else dice.choice(SHARES)
    free = dice.choice(SHARES) if can_be_free else 0.0
    free = {State.PAID: 0.0, State.FREE: 1.0}.get(state, free)
    return openness * (1 - free), openness * free


def ways_left(state, modes, truck):
    """In which ways a delivery can still come."""
    return COMES_AS[state] - ({State.FREE} if (truck, 1) not in modes else set())


def is_whole(modes):
    return all(share in (0.0, 1.0) for share in modes.values())


def test_the_two_ways_of_a_decision_leave_nothing_out():
    for seed in CASES:
        states, modes = drawn(seed)

        ways = decisions(BranchNode(states, None, solved_of(modes)))

        assert bool(ways) != is_whole(modes), seed
        if not ways:
            continue
        assert [list(way) for way in ways] == [list(ways[0])] * 2
        ((truck, one),), ((_, other),) = ways[0].items(), ways[1].items()
        left = ways_left(states.get(truck), modes, truck)
        ways_of_one = ways_left(one, modes, truck)
        ways_of_other = ways_left(other, modes, truck)
        assert ways_of_one | ways_of_other == left, seed
        assert not ways_of_one & ways_of_other
        # So each way leaves less to decide, and deciding comes to an end.
        assert ways_of_one < left
        assert ways_of_other < left


def test_what_is_nearest_to_one_half_is_decided_first():
    modes = {(0, 0): 0.9, (1, 0): 0.6, (2, 0): 0.2, (3, 0): 1.0}

    ways = decisions(BranchNode({}, None, solved_of(modes)))

    assert ways == [{1: State.CLOSED}, {1: State.OPEN}]


@pytest.mark.parametrize(
    ("states", "ways"),
    [
        # Not closed yet, so all three ways have to be left.
        ({}, [{0: State.CLOSED}, {0: State.OPEN}]),
        ({0: State.OPEN}, [{0: State.PAID}, {0: State.FREE}]),
        ({0: State.PAID}, []),
    ],
)
def test_how_a_delivery_comes_is_decided_when_it_is_sure_to_come(states, ways):
    solved = solved_of({(0, 0): 0.4, (0, 1): 0.6})

    assert decisions(BranchNode(states, None, solved)) == ways


def test_a_dive_decides_something_new_each_time_until_all_is_decided():
    for seed in CASES:
        states, modes = drawn(seed)
        trucks = {truck for truck, _ in modes}

        decided = nearly_decided(solved_of(modes), states)

        assert bool(decided) == bool(trucks - set(states)), seed
        assert not set(decided) & set(states)
        for truck, state in decided.items():
            paid, free = modes[truck, 0], modes.get((truck, 1), 0.0)
            share = {
                State.CLOSED: 1 - paid - free,
                State.PAID: paid,
                State.FREE: free,
            }[state]
            assert share >= 1 / 3 - 1e-9  # the likeliest of three
            assert state in ways_left(None, modes, truck)


def test_a_dive_decides_the_surest_where_all_is_in_doubt():
    solved = solved_of({(0, 0): 0.6, (1, 0): 0.3, (2, 0): 0.5})

    assert nearly_decided(solved, {}) == {1: State.CLOSED}


@pytest.mark.parametrize(
    ("paid", "free", "goods", "state"),
    [
        (0.0, 0.0, 0, State.CLOSED),
        (0.0, 0.0, 12, None),  # the choice uses what the answer closes
        (0.95, 0.0, 29.99, State.PAID),
        (0.95, 0.0, 30, None),
        (0.0, 0.95, 30, State.FREE),
        (0.0, 0.95, 29.996, State.FREE),  # half a cent counts as none
        (0.0, 0.95, 0, None),
        (0.5, 0.5, 30, None),
        (0.15, 0.85, 30, None),
    ],
)
def test_an_answer_and_a_choice_agree_where_both_are_sure(paid, free, goods, state):
    terms = [TruckTerms(fee=7.0, minimum=10.0, free_from=30.0)]
    solved = SimpleNamespace(modes={(0, 0): paid, (0, 1): free})

    found = agreed(terms, solved, np.array([float(goods)]))

    assert found == ({} if state is None else {0: state})
