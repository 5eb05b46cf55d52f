import itertools

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.dating import PerishingStock
from planning.engine.ordering.pricing.items import ItemPricer
from planning.engine.ordering.pricing.tasks import (
    follow,
    is_enough,
    net_cost,
    worth_left,
)
from tests.engine.ordering.random_kitchens import (
    kitchens,
    problem_of,
    trucks_of_choices,
)
from tests.engine.simulator import simulate

MOST_CHOICES = 4_000


def every_choice(task):
    options = [range(len(offer.cost)) for offer in task.offers]
    count = np.prod([len(some) for some in options], initial=1)
    return itertools.product(*options) if count <= MOST_CHOICES else None


@settings(max_examples=300, deadline=None)
@given(kitchens(), st.data())
def test_an_item_fares_as_the_simulator_says(case, data):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    choices = [
        tuple(data.draw(st.integers(0, len(o.cost) - 1)) for o in task.offers)
        for task in problem.tasks
    ]

    trucks = trucks_of_choices(problem, choices)
    outcome = simulate(kitchen, problem.window, used, trucks)

    worth = 0.0
    for task, choice in zip(problem.tasks, choices, strict=True):
        course = follow(task, task.bought_base(choice))
        days = [outcome.days[task.node, on] for on in sorted_days(outcome, task.node)]
        assert course.owed_base == pytest.approx([d.outstanding for d in days])
        assert course.closing_base == pytest.approx([d.closing for d in days])
        worth += worth_left(task, course)
    assert worth == pytest.approx(outcome.worth, abs=1e-6)
    goods = sum(map(lambda t, c: t.goods_cost(c), problem.tasks, choices))
    assert goods == pytest.approx(float(outcome.goods))


def sorted_days(outcome, node):
    return sorted(on for of, on in outcome.days if of == node)


@settings(max_examples=400, deadline=None)
@given(kitchens(items=1, most_packs=2), st.data())
def test_no_choice_is_cheaper_than_the_one_that_is_found(case, data):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    (task,) = problem.tasks
    trucks = len(problem.trucks)
    numbers = st.lists(st.integers(0, 8), min_size=trucks, max_size=trucks)
    prices = Prices(
        np.array(data.draw(numbers)) / 2.0,
        1 - np.array(data.draw(numbers)) / 8.0,
        np.zeros(trucks, dtype=bool),
    )
    choices = every_choice(task)
    assume(choices is not None)

    pricer = ItemPricer(task)
    found = pricer.cheapest(prices)
    closer = pricer.closer(found, prices)
    also = PerishingStock(task, 10**9).cheapest(
        prices.of([offer.delivery for offer in task.offers])
    )

    least = min(value_at(task, choice, prices) for choice in choices)
    assert found.bound <= least + 1e-6
    if task.is_undated:
        assert found.value == pytest.approx(least, abs=1e-6)
    assert also.value == pytest.approx(least, abs=1e-6)
    assert value_at(task, found.choice, prices) == pytest.approx(found.value)
    assert found.bound <= found.value
    assert closer.value == pytest.approx(least, abs=1e-6)
    assert closer.bound == pytest.approx(least, abs=1e-6)


def value_at(task, choice, prices):
    value = net_cost(task, choice)
    for offer, option in zip(task.offers, choice, strict=True):
        value += (prices.rate[offer.delivery] - 1) * offer.cost[option]
        value += prices.charge[offer.delivery] * offer.is_used[option]
    return value


@settings(max_examples=150, deadline=None)
@given(kitchens())
def test_the_most_of_every_offer_saves_what_can_be_saved(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)

    for task in problem.tasks:
        most = [float(offer.amount_base.max()) for offer in task.offers]
        assert is_enough(task, follow(task, most))


@settings(max_examples=150, deadline=None)
@given(kitchens(items=1, most_packs=2))
def test_more_than_an_offer_holds_is_of_no_use(case):
    kitchen, used = case
    (task,) = problem_of(kitchen, used).tasks
    most = [float(offer.amount_base.max()) for offer in task.offers]
    least_worth = worth_left(task, follow(task, most))

    more = follow(task, [amount + 100 for amount in most])

    assert worth_left(task, more) == pytest.approx(least_worth)
