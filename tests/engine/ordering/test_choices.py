"""Which schedules a whole choice is made among."""

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.column_generation.master import Duals, State
from planning.engine.ordering.column_generation.pricing_rounds import generate, price
from planning.engine.ordering.heuristics import choices
from planning.engine.ordering.heuristics.first_orders import find_first_orders
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.wishes import NO_WISHES
from tests.benchmarks.bakeries import SIZES, Size, bakery


@pytest.fixture
def found(monkeypatch):
    monkeypatch.setitem(SIZES, "little", Size(items=25, suppliers=3, days=10))
    kitchen, window = bakery("little", 1)
    demand, deliveries = explode(kitchen, window).demand, possible_deliveries
    problem = read_problem(
        kitchen, window, demand, deliveries(kitchen, window), NO_WISHES
    )
    found = BestSoFar(problem, QUICK, lambda: 0.0, lambda *_: None, lambda: False)
    price(found, Duals.nothing(problem), {})
    find_first_orders(found)
    return found


def used_by_the_best(found):
    return {
        truck
        for number, choice in found.choices.items()
        for truck in found.column(number, choice).trucks
    }


def test_where_a_delivery_is_closed_no_schedule_that_uses_it_is_looked_at(
    found, monkeypatch
):
    for closed in sorted(used_by_the_best(found) & set(found.master.rows.shared)):
        states = {closed: State.CLOSED}
        _, _, solved = generate(found, states, None, 8, float("-inf"))
        if not solved.is_artificial:  # nobody needs just this delivery
            break
    else:
        pytest.fail("every delivery of this bakery is needed")
    looked_at = []

    def nothing_changes(terms, columns, known, changes, cooling):
        looked_at.extend(columns)
        return [found.choices[number] for number in range(len(found.pricers))]

    monkeypatch.setattr(choices, "changed_by_chance", nothing_changes)
    choices.choose_by_chance(found, states, solved)

    assert {column.task for column in looked_at} == set(range(len(found.pricers)))
    assert not [column for column in looked_at if closed in column.trucks]


def test_what_is_best_so_far_is_always_looked_at(found, monkeypatch):
    _, _, solved = generate(found, {}, None, 8, float("-inf"))
    looked_at = set()

    def nothing_changes(terms, columns, known, changes, cooling):
        looked_at.update((column.task, column.choice) for column in columns)
        return [found.choices[number] for number in range(len(found.pricers))]

    monkeypatch.setattr(choices, "changed_by_chance", nothing_changes)
    choices.choose_by_chance(found, {}, solved)

    assert set(found.choices.items()) <= looked_at
