"""One item priced again and again: what was found before limits, but never misleads."""

import itertools

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.items import ItemPricer
from planning.engine.ordering.pricing.keeping import KeepingStock
from planning.engine.ordering.pricing.tasks import net_cost
from tests.engine.ordering.random_kitchens import kitchens, problem_of
from tests.engine.ordering.test_plain_milp import without_dates

MOST_CHOICES = 3_000
SAME = 3e-6  # twice the millionth that a limit forgives, and some


class EveryChoice:
    """Every choice of one item, with what it costs at any prices."""

    def __init__(self, task):
        options = [range(len(offer.cost)) for offer in task.offers]
        self.choices = list(itertools.product(*options))
        self.trucks = np.array([offer.delivery for offer in task.offers], dtype=int)
        self.net_cost = np.array([net_cost(task, choice) for choice in self.choices])
        shape = (len(self.choices), len(task.offers))
        picks = np.array(self.choices, dtype=int).reshape(shape)
        self.goods, self.is_used = np.zeros(shape), np.zeros(shape, dtype=bool)
        for place, offer in enumerate(task.offers):
            self.goods[:, place] = offer.cost[picks[:, place]]
            self.is_used[:, place] = offer.is_used[picks[:, place]]

    def values(self, prices):
        """Return what every choice costs; infinite where it uses what is closed."""
        of = self.trucks
        value = self.net_cost + self.goods @ (prices.rate[of] - 1)
        value = value + self.is_used @ prices.charge[of]
        is_out = (self.is_used & prices.is_closed[of]).any(axis=1)
        return np.where(is_out, np.inf, value)

    def value(self, choice, prices):
        return self.values(prices)[self.choices.index(choice)]


def is_few(task):
    return np.prod([len(offer.cost) for offer in task.offers]) <= MOST_CHOICES


@st.composite
def prices(draw, trucks):
    numbers = st.lists(st.integers(0, 8), min_size=trucks, max_size=trucks)
    closed = st.lists(st.integers(0, 3), min_size=trucks, max_size=trucks)
    return Prices(
        np.array(draw(numbers)) / 2.0,
        1 - np.array(draw(numbers)) / 8.0,
        np.array(draw(closed), dtype=int) == 1,
    )


def drawn_prices(data, problem):
    trucks = len(problem.trucks)
    return data.draw(st.lists(prices(trucks), min_size=2, max_size=6))


@settings(max_examples=120, deadline=None)
@given(kitchens(items=1, most_packs=2), st.data())
def test_what_keeps_costs_the_same_whatever_was_asked_before(case, data):
    problem = problem_of(without_dates(case[0]), case[1])
    (task,) = problem.tasks
    assume(is_few(task))
    every, pricer = EveryChoice(task), ItemPricer(task)

    for some in drawn_prices(data, problem):
        found, fresh = pricer.cheapest(some), ItemPricer(task).cheapest(some)

        least = every.values(some).min()
        assert found.value == pytest.approx(least, abs=SAME)
        assert fresh.value == pytest.approx(least, abs=1e-9)
        assert found.bound <= least + 1e-9
        if found.choice is None:
            assert least == np.inf
        else:
            assert every.value(found.choice, some) == pytest.approx(found.value)


@settings(max_examples=120, deadline=None)
@given(kitchens(items=1, most_packs=2), st.data())
def test_what_goes_out_of_date_keeps_its_bound_whatever_was_asked_before(case, data):
    problem = problem_of(*case)
    (task,) = problem.tasks
    assume(is_few(task))
    every, pricer = EveryChoice(task), ItemPricer(task)

    for some in drawn_prices(data, problem):
        found = pricer.cheapest(some)
        closer = pricer.closer(found, some)

        least = every.values(some).min()
        assert found.bound <= least + SAME
        assert least - SAME <= found.value
        assert closer.value == pytest.approx(least, abs=SAME)
        assert closer.bound == pytest.approx(min(least, closer.value), abs=SAME)
        for answer in (found, closer):
            assert answer.bound <= answer.value
            if answer.choice is None:
                assert answer.value == least == np.inf
            else:
                value = every.value(answer.choice, some)
                assert value == pytest.approx(answer.value)


@settings(max_examples=120, deadline=None)
@given(kitchens(items=1, most_packs=2), st.data())
def test_a_limit_hides_nothing_that_costs_no_more(case, data):
    problem = problem_of(without_dates(case[0]), case[1])
    (task,) = problem.tasks
    assume(is_few(task) and task.offers)
    values = EveryChoice(task).values(some := data.draw(prices(len(problem.trucks))))
    finite = values[values < np.inf]
    assume(len(finite))
    mine = some.of([offer.delivery for offer in task.offers])
    limit = float(data.draw(st.sampled_from(finite.tolist())))

    at_a_value = KeepingStock(task).cheapest(mine, most_value=limit)
    too_low = KeepingStock(task).cheapest(mine, most_value=finite.min() - 0.001)

    assert at_a_value.value == pytest.approx(finite.min(), abs=1e-9)
    assert too_low.choice is None or too_low.value >= finite.min() - 1e-9


@settings(max_examples=120, deadline=None)
@given(kitchens(items=1, most_packs=2), st.data())
def test_what_the_rest_costs_is_never_said_to_be_more(case, data):
    problem = problem_of(without_dates(case[0]), case[1])
    (task,) = problem.tasks
    assume(is_few(task) and task.offers)
    some = data.draw(prices(len(problem.trucks)))
    every, stock = EveryChoice(task), KeepingStock(task)
    of = every.trucks
    to_go = stock.reader.read(some.of(of))
    values = every.values(some)
    row = int(values.argmin())
    assume(values[row] < np.inf)

    # Along the best choice, what has been paid and what is to go are its value at most.
    paid, bought = 0.0, 0.0
    for place, option in enumerate((*every.choices[row], None)):
        capped = min(bought, float(stock.caps_base[max(place - 1, 0)]))
        point = int(np.ceil(capped / to_go.step_base - 1e-9))
        assert paid + to_go.cost[place, point] <= values[row] + 1e-6
        if option is not None:
            offer = task.offers[place]
            paid += some.rate[of[place]] * float(offer.cost[option])
            paid += some.charge[of[place]] * bool(offer.is_used[option])
            bought += float(offer.amount_base[option])
