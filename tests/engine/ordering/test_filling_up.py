"""Deliveries that have to be filled up, and packs that are small beside the need."""

from decimal import Decimal

import pytest
from hypothesis import given, settings

from planning.engine.kitchen import PriceBreak
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.instance import options, problems
from planning.engine.ordering.instance.wishes import FixedLine, Wishes
from planning.engine.ordering.search import Search
from planning.engine.plan import Proof
from tests.engine import shelves
from tests.engine.ordering.busy_kitchens import busy_kitchens
from tests.engine.ordering.random_kitchens import day, problem_of
from tests.engine.ordering.test_best_orders import ordered, outcome_of
from tests.engine.simulator import Truck


def searched(problem):
    search = Search(problem, QUICK, lambda: 0.0, lambda *_: None, lambda: False)
    search.run()
    return search


def test_fresh_goods_that_save_old_stock_can_fill_a_delivery():
    """Nine creams at 5 and five butters at 1 reach 50; used, they save 90 of 100.

    What they save is worth 0.9 x 0.5 x 90 = 40.50, and four butters over 3.60.
    """
    kitchen = shelves.kitchen(
        shelves.items({"name": "cream", "keeps": 1}, {"name": "butter"}),
        lots=[(0, 100.0, None)],
        suppliers=[shelves.supplier("Dairy", days=(1,), minimum_order=50)],
        packs=[shelves.pack(0, 10, 5, pack_id=1), shelves.pack(1, 10, 1, pack_id=2)],
    )
    used = {(0, day(1)): 100.0, (1, day(1)): 10.0}
    outcome = outcome_of(kitchen, used, [Truck(0, day(1), {0: 9, 1: 5})])
    cost = float(outcome.goods + outcome.fees) - outcome.worth
    assert cost == pytest.approx(5.9)

    search = searched(problem_of(kitchen, used))

    assert search.bound <= cost + 1e-6
    assert search.best.cost == pytest.approx(cost)


@pytest.mark.parametrize("forbidden", [frozenset(), frozenset({1})])
def test_a_delivery_is_filled_up_past_a_price_break(forbidden):
    """Four packs at 0.50 cost no more than one at 2; sixteen reach 8."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "milk", "keeps": 2}),
        suppliers=[
            shelves.supplier("Dairy", days=(1,), minimum_order=8),
            shelves.supplier("Mill", days=(1,)),
        ],
        packs=[
            shelves.pack(0, 8, 2, pack_id=1, breaks=(PriceBreak(4, Decimal("0.5")),))
        ],
    )

    purchasing = ordered(
        kitchen,
        {(0, day(2)): 5.0},
        wishes=Wishes(forbidden_suppliers=forbidden),
    )

    [order] = purchasing.orders
    assert order.goods_cost == 8


def test_goods_for_next_to_nothing_make_a_delivery_free():
    """10,000 packs at 0.0001 come to 1, from which a fee of 1000 is waived."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour"}),
        suppliers=[shelves.supplier("Mill", delivery_fee=1000, free_delivery_from=1)],
        packs=[shelves.pack(0, 10, Decimal("0.0001"))],
    )

    purchasing = ordered(kitchen, {(0, day(2)): 30.0})

    assert purchasing.total_cost == 1


@pytest.mark.parametrize("paid", [0, 1])
def test_a_delivery_of_what_is_free_is_filled_up_with_what_is_not(paid):
    """Four free packs keep safety; five at 1 bring the order to 5."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "rosemary", "safety": 38.0}, {"name": "butter"}),
        suppliers=[shelves.supplier("Garden", days=(5,), minimum_order=5)],
        packs=[shelves.pack(paid, 10, 1, pack_id=1), shelves.pack(0, 10, 0, pack_id=2)],
    )

    purchasing = ordered(kitchen, {})

    assert purchasing.total_cost == 5
    assert purchasing.proof.status == "proven"


def test_a_minimum_is_reached_with_thousands_of_cheap_packs():
    """3,077 packs at 0.0195 are the fewest that come to 60."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "bags"}),
        suppliers=[shelves.supplier("Paper", days=(1,), minimum_order=60)],
        packs=[shelves.pack(0, 1, Decimal("0.0195"))],
    )

    purchasing = ordered(kitchen, {(0, day(2)): 30.0})

    [order] = purchasing.orders
    assert 60 <= order.goods_cost < Decimal("60.02")


def test_nothing_is_said_to_be_best_where_a_fixed_line_cannot_come():
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[shelves.supplier("Dairy", days=(1,), minimum_order=20)],
        packs=[shelves.pack(0, 10, 1, pack_id=1)],
    )
    fixed = FixedLine(1, day(1), 5)

    purchasing = ordered(kitchen, {}, wishes=Wishes(fixed_lines=(fixed,)))

    assert not purchasing.orders
    assert purchasing.proof == Proof("best found", float("inf"))


@settings(max_examples=60, deadline=None)
@given(busy_kitchens(items=2))
def test_a_bound_holds_though_not_every_number_of_packs_is_looked_at(case):
    problem = problem_of(*case)
    search = searched(problem)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(options, "MOST_OPTIONS", 3)
        patch.setattr(problems, "asked_base", lambda *_: [])
        fewer = problem_of(*case)

    coarse = searched(fewer)

    most = max(len(offer.cost) for task in fewer.tasks for offer in task.offers)
    assert most <= 5
    assert coarse.best.will_do
    assert coarse.bound <= search.best.cost + 1e-6
    assert coarse.bound <= coarse.best.cost + 1e-6


def test_packs_that_are_small_beside_the_need_are_looked_at_in_steps():
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter", "keeps": 3, "par": 200.0, "safety": 100.0}),
        suppliers=[shelves.supplier("Dairy", days=(1, 4))],
        packs=[shelves.pack(0, 0.001, 10)],
    )

    problem = problem_of(kitchen, {(0, day(3)): 500.0})

    for task in problem.tasks:
        assert task.offers
        for offer in task.offers:
            assert len(offer.cost) <= 2 * options.MOST_OPTIONS
            assert offer.amount_base.max() >= 600
