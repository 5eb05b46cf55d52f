"""Whole choices among known schedules, by chance and exactly, beside all there are."""

import random

import pytest

from planning.engine.ordering.column_generation.master import State
from planning.engine.ordering.column_generation.solver import Limits
from planning.engine.ordering.heuristics.annealing import COOLINGS, changed_by_chance
from planning.engine.ordering.heuristics.choices import best_choice
from tests.engine.ordering.bare_questions import INFINITE, Question

ENOUGH = Limits(nodes=10_000, seconds=60)
TINY = range(150)


def by_chance(question, known, changes, cooling=COOLINGS[0]):
    return changed_by_chance(question.terms, question.columns, known, changes, cooling)


def known_of(question, seed):
    """A choice to start from; now and then of an item that has no such column."""
    dice = random.Random(seed)
    known = {n: dice.choice(of).choice for n, of in enumerate(question.of_item)}
    if dice.random() < 0.3:
        known[0] = (99,)
    return known


def start_cost(question, known):
    start = [
        next((col for col in of if col.choice == known[n]), of[0])
        for n, of in enumerate(question.of_item)
    ]
    return question.cost(start)


@pytest.mark.parametrize("cooling", COOLINGS)
@pytest.mark.parametrize("changes", [0, 200, 3_000])
def test_chance_makes_no_choice_dearer_and_is_the_same_each_time(changes, cooling):
    for seed in range(60):
        question = Question(seed, most_items=12, most_trucks=6, most_columns=8)
        known = known_of(question, seed)

        choices = by_chance(question, known, changes, cooling)

        cost = question.cost(question.columns_of(choices))
        assert cost <= start_cost(question, known) + 1e-6
        assert by_chance(question, known, changes, cooling) == choices


@pytest.mark.parametrize("cooling", COOLINGS)
def test_chance_nearly_always_comes_by_the_best_of_a_few_choices(cooling):
    missed = []
    for seed in TINY:
        question = Question(seed)
        least = min(map(question.cost, question.every_choice()))

        choices = by_chance(question, known_of(question, seed), 20_000, cooling)

        if question.cost(question.columns_of(choices)) > least + 1e-6:
            missed.append(seed)
    # Where two items have to change at once it can stay a step away.
    assert len(missed) <= len(TINY) / 50


def test_chance_takes_columns_in_any_order():
    question = Question(3)
    known = known_of(question, 3)
    least = min(map(question.cost, question.every_choice()))
    random.Random(1).shuffle(question.columns)

    choices = by_chance(question, known, 20_000)

    assert question.cost(question.columns_of(choices)) == pytest.approx(least)


def states_of(question, seed):
    dice = random.Random(seed + 1_000)
    some = [None, None, State.CLOSED, State.OPEN, State.PAID, State.FREE]
    drawn = {truck: dice.choice(some) for truck in range(len(question.terms))}
    shared = question.rows().shared
    return {n: state for n, state in drawn.items() if state and n in shared}


def never():
    return False


def test_the_exact_choice_is_the_best_that_keeps_to_what_is_decided():
    found = {"none": 0, "some": 0}
    for seed in range(300):
        question = Question(seed)
        states = states_of(question, seed)
        costs = [question.cost(some, states) for some in question.every_choice()]
        least = min(costs)

        chosen = best_choice(question.rows(), question.columns, ENOUGH, states, never)

        if least == INFINITE:
            assert chosen is None
            found["none"] += 1
            continue
        found["some"] += 1
        choices = [chosen[item] for item in range(question.items)]
        assert len(chosen) == question.items
        cost = question.cost(question.columns_of(choices), states)
        assert cost == pytest.approx(least, abs=1e-5 + 1e-5 * abs(least)), seed
    assert min(found.values()) > 20


def test_the_exact_choice_ends_when_it_is_told_to():
    question = Question(0, most_items=300, most_trucks=40, most_columns=12)
    asked = []

    def should_stop():
        asked.append(True)
        return True

    def chosen(should_stop):
        rows, columns = question.rows(), question.columns
        return best_choice(rows, columns, ENOUGH, {}, should_stop)

    def cost(found):
        choices = [found[item] for item in range(question.items)]
        return question.cost(question.columns_of(choices))

    stopped, looked = chosen(should_stop), chosen(never)

    assert asked
    assert stopped is None or cost(stopped) > cost(looked)
