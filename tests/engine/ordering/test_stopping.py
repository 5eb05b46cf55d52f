"""A search that is told to stop, at any moment: what it has by then will do."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.column_generation.efforts import QUICK, THOROUGH, USUAL
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.wishes import NO_WISHES, Wishes
from planning.engine.ordering.pricing.first_calls import call_pricing
from planning.engine.ordering.pricing.items import ItemPricer
from planning.engine.ordering.search import Search
from tests.benchmarks.bakeries import SIZES, Size, bakery
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, kitchens
from tests.engine.ordering.test_best_orders import (
    cost_of,
    flood,
    lacks_more,
    ordered,
    outcome_of,
    usually,
)
from tests.engine.simulator import trucks_of


class StopAfter:
    """Says to stop from some asking on."""

    def __init__(self, asks):
        self.left = asks

    def __call__(self):
        self.left -= 1
        return self.left < 0


@settings(max_examples=150, deadline=None)
@given(kitchens(), st.integers(0, 120))
def test_a_search_can_end_at_any_moment(case, asks):
    kitchen, used = case
    usual = usually(kitchen, used)

    purchasing = ordered(kitchen, used, should_stop=StopAfter(asks))

    by_rule = outcome_of(kitchen, used, trucks_of(kitchen, usual.orders))
    ours = outcome_of(kitchen, used, trucks_of(kitchen, purchasing.orders))
    assert purchasing.proof.gap >= 0
    if not lacks_more(
        kitchen, used, by_rule, outcome_of(kitchen, used, flood(kitchen))
    ):
        assert not ours.broken_rules
        assert cost_of(ours) <= cost_of(by_rule) + 1e-6


@pytest.fixture
def little_bakery(monkeypatch):
    monkeypatch.setitem(SIZES, "little", Size(items=25, suppliers=3, days=10))
    kitchen, window = bakery("little", 1)
    demand = explode(kitchen, window).demand
    return kitchen, window, demand, possible_deliveries(kitchen, window)


def test_between_two_askings_no_more_than_one_item_is_priced(
    little_bakery, monkeypatch
):
    call_pricing()
    priced, most = 0, 0
    cheapest, check = ItemPricer.cheapest, BestSoFar.check

    def counted(pricer, prices):
        nonlocal priced, most
        priced += 1
        most = max(most, priced)
        return cheapest(pricer, prices)

    def checked(found):
        nonlocal priced
        priced = 0
        check(found)

    monkeypatch.setattr(ItemPricer, "cheapest", counted)
    monkeypatch.setattr(BestSoFar, "check", checked)

    problem = read_problem(*little_bakery, NO_WISHES)
    Search(problem, QUICK, lambda: 0.0, lambda *_: None, lambda: False).run()

    assert most == 1


def test_with_wishes_a_stop_at_once_still_brings_orders():
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour"}),
        suppliers=[shelves.supplier("Mill"), shelves.supplier("Dairy")],
        packs=[
            shelves.pack(0, 10, 3, supplier=0, pack_id=1),
            shelves.pack(0, 10, 2, supplier=1, pack_id=2),
        ],
    )

    purchasing = ordered(
        kitchen,
        {(0, MON.replace(day=7)): 30.0},
        should_stop=lambda: True,
        wishes=Wishes(forbidden_suppliers=frozenset({1})),
    )

    assert [order.supplier for order in purchasing.orders] == [0]


@pytest.mark.parametrize("effort", [QUICK, USUAL, THOROUGH])
def test_at_any_effort_the_same_bakery_gets_the_same_orders(little_bakery, effort):
    def look():
        return best_orders(*little_bakery, effort=effort, clock=lambda: 0.0)

    assert look() == look()
