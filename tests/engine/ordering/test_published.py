"""Lot sizes of the literature, posed as orders of one item.

Holding cost has no place of its own in an order. A unit bought in period i of T stands
on the shelf until it is used, so its price is set to h x (T - i + 1); of the total
that this makes, h x the sum of demand so far over all periods is there in every plan
and is taken off. Every period has a supplier of its own, whose fee is the set-up cost.
"""

from decimal import Decimal

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import PriceBreak
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.pricing import ItemPricer, Prices
from planning.engine.ordering.problems import read_problem
from planning.engine.ordering.wishes import NO_WISHES, FixedLine, Wishes
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, day


def lot_sizing(demand, setups, holding, *, size=1, on_hand=0):
    """A kitchen of one item, its window, its use, and what is in every plan."""
    periods = len(demand)
    suppliers = [
        shelves.supplier(f"period {n}", delivery_fee=fee, closed_on=all_but(n, periods))
        for n, fee in enumerate(setups)
    ]
    packs = [
        shelves.pack(0, size, size * holding * (periods - n), supplier=n, pack_id=n + 1)
        for n in range(periods)
    ]
    kitchen = shelves.kitchen(
        shelves.items({"name": "units"}),
        lots=[(0, on_hand, None)] if on_hand else (),
        suppliers=suppliers,
        packs=packs,
        leftover_worth=0.0,
    )
    so_far = [sum(demand[: n + 1]) - on_hand for n in range(periods)]
    window = shelves.window(MON, periods + 1)
    used = {(0, day(n + 1)): float(amount) for n, amount in enumerate(demand)}
    return kitchen, window, used, holding * sum(so_far)


def all_but(number, periods):
    """Deliveries start a day after the plan, as they are ordered a day ahead."""
    return frozenset(day(n) for n in range(periods + 1) if n != number + 1)


PUBLISHED = [
    pytest.param(
        [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56],
        [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114],
        1,
        0,
        864,
        id="C-31 Wagner and Whitin 1958",
    ),
    pytest.param(
        [90, 120, 80, 70], [500] * 4, 2, 0, 1380, id="C-32 Snyder and Shen, recomputed"
    ),
    pytest.param([1, 1, 2, 2], [4] * 4, 2, 1, 12, id="C-33 Winston, recomputed"),
]


@pytest.mark.parametrize(("demand", "setups", "holding", "on_hand", "cost"), PUBLISHED)
def test_one_items_lot_sizes(demand, setups, holding, on_hand, cost):
    kitchen, window, used, in_all = lot_sizing(demand, setups, holding, on_hand=on_hand)
    demand_rows = shelves.demand(kitchen.nodes, used)
    deliveries = possible_deliveries(kitchen, window)
    problem = read_problem(kitchen, window, demand_rows, deliveries, NO_WISHES)
    prices = Prices.plain(len(deliveries))
    prices.charge[:] = [terms.fee for terms in problem.terms]

    found = ItemPricer(problem.tasks[0]).cheapest(prices)

    assert found.value - in_all == pytest.approx(cost)
    assert found.bound == found.value


def test_the_orders_of_c_32_are_210_at_first_and_150_third():
    kitchen, window, used, in_all = lot_sizing([90, 120, 80, 70], [500] * 4, 2, size=10)
    deliveries = possible_deliveries(kitchen, window)

    purchasing = best_orders(
        kitchen, window, shelves.demand(kitchen.nodes, used), deliveries
    )

    assert float(purchasing.goods_cost + purchasing.fees) - in_all == 1380
    bought = [
        ((order.deliver_on - MON).days, line.packs)
        for order in purchasing.orders
        for line in order.lines
    ]
    assert bought == [(1, 21), (3, 15)]
    assert purchasing.proof.status == "proven"


@pytest.mark.parametrize(("needed", "packs"), [(7, 7), (8, 10), (9, 10), (12, 12)])
def test_a_break_for_all_units_is_taken_where_more_costs_less(needed, packs):
    # 8 at 5.00 cost 40.00; 10 at 3.90 cost 39.00. 7 at 5.00 cost 35.00.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[shelves.supplier()],
        packs=[shelves.pack(0, 1, 5, breaks=(PriceBreak(10, Decimal("3.90")),))],
        leftover_worth=0.0,
    )
    window = shelves.window(MON, 7)
    used = {(0, day(3)): float(needed)}

    purchasing = best_orders(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, used),
        possible_deliveries(kitchen, window),
    )

    assert [line.packs for order in purchasing.orders for line in order.lines] == [
        packs
    ]


def two_mills():
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour"}),
        suppliers=[
            shelves.supplier("Mill", days=(1, 3)),
            shelves.supplier("Other mill", days=(1, 3)),
        ],
        packs=[
            shelves.pack(0, 10, 3, supplier=0, pack_id=1),
            shelves.pack(0, 10, 4, supplier=1, pack_id=2),
        ],
    )
    return kitchen, {(0, day(4)): 20.0}


@pytest.mark.parametrize(
    ("wishes", "bought"),
    [
        (Wishes(), [(0, 2)]),
        (Wishes(forbidden_suppliers=frozenset({0})), [(1, 2)]),
        (Wishes(preferred_suppliers=frozenset({1})), [(1, 2)]),
        (Wishes(fixed_lines=(FixedLine(2, day(3), 1),)), [(0, 1), (1, 1)]),
        (Wishes(fixed_lines=(FixedLine(1, day(3), 5),)), [(0, 5)]),
        (
            Wishes(
                forbidden_deliveries=frozenset({(0, day(1)), (0, day(3))}),
            ),
            [(1, 2)],
        ),
    ],
)
def test_the_buyers_wishes_are_kept(wishes, bought):
    kitchen, used = two_mills()
    window = shelves.window(MON, 7)

    purchasing = best_orders(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, used),
        possible_deliveries(kitchen, window),
        wishes=wishes,
    )

    assert (
        sorted(
            (line.pack.supplier, line.packs)
            for order in purchasing.orders
            for line in order.lines
        )
        == bought
    )
