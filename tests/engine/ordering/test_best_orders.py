import itertools

import numpy as np
import pytest
from hypothesis import assume, given, settings

from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import (
    MON,
    kitchens,
    problem_of,
    trucks_of_choices,
)
from tests.engine.simulator import (
    flood_trucks,
    least_for_par,
    par_days_of,
    simulate,
    trucks_of,
)

DAYS = 6
MOST_CHOICES = 3_000


def ordered(kitchen, used, **kwargs):
    window = shelves.window(MON, DAYS)
    deliveries = possible_deliveries(kitchen, window)
    demand = shelves.demand(kitchen.nodes, used)
    kwargs.setdefault("effort", QUICK)
    return best_orders(kitchen, window, demand, deliveries, **kwargs)


def usually(kitchen, used):
    window = shelves.window(MON, DAYS)
    deliveries = possible_deliveries(kitchen, window)
    return usual_rule(kitchen, window, shelves.demand(kitchen.nodes, used), deliveries)


def outcome_of(kitchen, used, trucks):
    return simulate(kitchen, shelves.window(MON, DAYS), used, trucks)


def flood(kitchen):
    window = shelves.window(MON, DAYS)
    return flood_trucks(kitchen, possible_deliveries(kitchen, window))


def lacks_more(kitchen, used, outcome, least):
    """Whether anything is short that a flood of every delivery would have saved."""
    window = shelves.window(MON, DAYS)
    deliveries = [
        (delivery.supplier, delivery.deliver_on)
        for delivery in possible_deliveries(kitchen, window)
    ]
    par_days = {
        node: par_days_of(kitchen, window, node, deliveries) for node, _ in outcome.days
    }
    for (node, on), there in outcome.days.items():
        best = least.days[node, on]
        level = kitchen.nodes.safety_base[node]
        if on in par_days[node]:
            level = max(level, least_for_par(kitchen, node, on))
        if there.outstanding > best.outstanding + 0.001:
            return True
        if there.closing < min(level, best.closing) - 0.001:
            return True
    return False


def cost_of(outcome):
    return float(outcome.goods + outcome.fees) - outcome.worth


@settings(max_examples=100, deadline=None)
@given(kitchens())
def test_the_simulator_takes_every_plan_and_finds_nothing_short(case):
    kitchen, used = case

    purchasing = ordered(kitchen, used)

    outcome = outcome_of(kitchen, used, trucks_of(kitchen, purchasing.orders))
    assert outcome.broken_rules == []
    assert (outcome.goods, outcome.fees) == (purchasing.goods_cost, purchasing.fees)
    least = outcome_of(kitchen, used, flood(kitchen))
    assert not lacks_more(kitchen, used, outcome, least)
    for order in purchasing.orders:
        assert all(line.because for line in order.lines)


@settings(max_examples=100, deadline=None)
@given(kitchens())
def test_no_plan_is_worse_than_the_usual_rule(case):
    kitchen, used = case
    usual = usually(kitchen, used)

    purchasing = ordered(kitchen, used)

    by_rule = outcome_of(kitchen, used, trucks_of(kitchen, usual.orders))
    ours = outcome_of(kitchen, used, trucks_of(kitchen, purchasing.orders))
    least = outcome_of(kitchen, used, flood(kitchen))
    assert purchasing.usual_total == usual.usual_total
    if not lacks_more(kitchen, used, by_rule, least):
        assert cost_of(ours) <= cost_of(by_rule) + 1e-6


@settings(max_examples=100, deadline=None)
@given(kitchens(most_packs=3))
def test_no_choice_of_all_is_cheaper_than_the_proof_allows(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    options = [
        [range(len(offer.cost)) for offer in task.offers] for task in problem.tasks
    ]
    counts = [len(some) for mine in options for some in mine]
    assume(np.prod(counts, initial=1) <= MOST_CHOICES)
    least = outcome_of(kitchen, used, flood(kitchen))
    best = float("inf")
    for choices in itertools.product(*(itertools.product(*mine) for mine in options)):
        outcome = outcome_of(kitchen, used, trucks_of_choices(problem, choices))
        if not outcome.broken_rules and not lacks_more(kitchen, used, outcome, least):
            best = min(best, cost_of(outcome))

    purchasing = ordered(kitchen, used)

    ours = outcome_of(kitchen, used, trucks_of(kitchen, purchasing.orders))
    paid = float(purchasing.total_cost)
    assert cost_of(ours) - purchasing.proof.gap * paid <= best + 1e-6
    if purchasing.proof.status == "proven":
        assert cost_of(ours) <= best + 1e-4 * max(paid, 1) + 1e-6


def test_the_same_kitchen_gets_the_same_orders():
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour", "par": 40.0}, {"name": "sugar", "safety": 5.0}),
        suppliers=[
            shelves.supplier("Mill", days=(1, 3), delivery_fee=4),
            shelves.supplier("Dairy", days=(2, 4), minimum_order=20),
        ],
        packs=[
            shelves.pack(node, size, price, supplier=supplier, pack_id=number)
            for number, (node, size, price, supplier) in enumerate(
                [(0, 10, 3, 0), (0, 25, 7, 1), (1, 8, 2, 0), (1, 20, 5, 1)]
            )
        ],
    )
    used = {(0, MON.replace(day=7)): 30.0, (1, MON.replace(day=8)): 12.0}

    assert ordered(kitchen, used) == ordered(kitchen, used)


def test_a_stop_keeps_the_best_so_far():
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour"}),
        suppliers=[shelves.supplier(delivery_fee=4)],
        packs=[shelves.pack(0, 10, 3)],
    )
    told = []

    purchasing = ordered(
        kitchen,
        {(0, MON.replace(day=7)): 30.0},
        should_stop=lambda: True,
        on_progress=told.append,
    )

    assert purchasing.goods_cost == 9
    assert told[0].stage == "usual rule"
    assert pytest.approx(13) == told[0].paid
