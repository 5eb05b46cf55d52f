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
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.wishes import NO_WISHES, FixedLine, Wishes
from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.items import ItemPricer
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

    assert float(purchasing.total_cost) - in_all == 1380
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


# Price lists of the quantity-discount examples. Their yearly cost has no place in one
# order (there is no holding for an order that comes again and again), so here one
# delivery covers a need: of all numbers of packs that do, the cheapest is worked out by
# hand. Just below each break some needs are met cheaper by the break's own number:
# C-24: 46 x 20 = 920 over 50 x 18 = 900; 76 x 18 = 1,368 over 80 x 17 = 1,360;
# 95 x 17 = 1,615 over 100 x 16 = 1,600. C-25: 961 x 5.00 = 4,805 over 1,000 x 4.80 =
# 4,800; 1,980 x 4.80 = 9,504 over 2,000 x 4.75 = 9,500. C-26: 484 x 0.30 = 145.20 over
# 500 x 0.29 = 145.00; 966 x 0.29 = 280.14 over 1,000 x 0.28 = 280.00.
PRICE_LISTS = {
    "C-24 Stevenson": ["20", (50, "18"), (80, "17"), (100, "16")],
    "C-25 Heizer and Render": ["5.00", (1000, "4.80"), (2000, "4.75")],
    "C-26 Nahmias 4.4": ["0.30", (500, "0.29"), (1000, "0.28")],
}


@pytest.mark.parametrize(
    ("example", "needed", "packs", "cost"),
    [
        ("C-24 Stevenson", 44, 44, "880"),
        ("C-24 Stevenson", 46, 50, "900"),
        ("C-24 Stevenson", 74, 74, "1332"),
        ("C-24 Stevenson", 76, 80, "1360"),
        ("C-24 Stevenson", 94, 94, "1598"),
        ("C-24 Stevenson", 95, 100, "1600"),
        ("C-24 Stevenson", 101, 101, "1616"),
        ("C-25 Heizer and Render", 700, 700, "3500"),
        ("C-25 Heizer and Render", 961, 1000, "4800"),
        ("C-25 Heizer and Render", 1979, 1979, "9499.20"),
        ("C-25 Heizer and Render", 1980, 2000, "9500"),
        ("C-26 Nahmias 4.4", 400, 400, "120"),
        ("C-26 Nahmias 4.4", 483, 483, "144.90"),
        ("C-26 Nahmias 4.4", 484, 500, "145"),
        ("C-26 Nahmias 4.4", 965, 965, "279.85"),
        ("C-26 Nahmias 4.4", 966, 1000, "280"),
    ],
)
def test_published_price_lists_are_bought_from_at_the_least_cost(
    example, needed, packs, cost
):
    first, *breaks = PRICE_LISTS[example]
    steps = tuple(PriceBreak(number, Decimal(price)) for number, price in breaks)
    kitchen = shelves.kitchen(
        shelves.items({"name": "units", "unit": "each"}),
        suppliers=[shelves.supplier(days=(1,))],
        packs=[shelves.pack(0, 1, first, breaks=steps)],
        leftover_worth=0.0,
    )
    window = shelves.window(MON, 4)

    purchasing = best_orders(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, {(0, day(2)): float(needed)}),
        possible_deliveries(kitchen, window),
    )

    (order,) = purchasing.orders
    assert [line.packs for line in order.lines] == [packs]
    assert purchasing.goods_cost == Decimal(cost)


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
