"""The best orders beside one plain integer programme over the same kitchens."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings

from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import NO_LIMIT_DAYS
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from tests.engine import shelves
from tests.engine.ordering.plain_milp import least_cost
from tests.engine.ordering.random_kitchens import MON, kitchens
from tests.engine.simulator import simulate, trucks_of

DAYS = 6
WINDOW = shelves.window(MON, DAYS)


def ordered(kitchen, used):
    return best_orders(
        kitchen,
        WINDOW,
        shelves.demand(kitchen.nodes, used),
        possible_deliveries(kitchen, WINDOW),
        effort=QUICK,
    )


def cost_of(kitchen, used, trucks):
    outcome = simulate(kitchen, WINDOW, used, trucks)
    assert outcome.broken_rules == []
    return float(outcome.goods + outcome.fees) - outcome.worth


def without_dates(kitchen):
    count = len(kitchen.nodes.ids)
    return dataclasses.replace(
        kitchen,
        nodes=dataclasses.replace(
            kitchen.nodes, keeps_days=np.full(count, NO_LIMIT_DAYS)
        ),
        lots=dataclasses.replace(
            kitchen.lots, use_by=(None,) * len(kitchen.lots.use_by)
        ),
    )


def check(kitchen, used, least, best):
    """`least` no plan is below; `best` is what some plan costs."""
    purchasing = ordered(kitchen, used)

    ours = cost_of(kitchen, used, trucks_of(kitchen, purchasing.orders))
    paid = float(purchasing.total_cost)
    proof = purchasing.proof
    assert ours >= least - 1e-4
    assert ours - proof.gap * paid <= best + 1e-4
    if proof.status == "proven":
        assert ours <= best + 1e-4 * max(paid, 1)


@settings(max_examples=60, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_what_keeps_is_bought_at_the_least_cost(case):
    kitchen, used = without_dates(case[0]), case[1]
    least, trucks = least_cost(kitchen, WINDOW, used)

    best = cost_of(kitchen, used, trucks)

    assert best == pytest.approx(least, abs=1e-4)
    check(kitchen, used, least, best)


@settings(max_examples=60, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_what_goes_out_of_date_costs_what_the_proof_allows(case):
    kitchen, used = case
    least, trucks = least_cost(kitchen, WINDOW, used)

    best = cost_of(kitchen, used, trucks)

    assert best >= least - 1e-4
    check(kitchen, used, least, best)
