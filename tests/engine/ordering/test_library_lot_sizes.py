"""Lot sizes over several periods, from the instances of an inventory-theory library.

The instances are those of stockpyl 1.0.2 (module `instances`) that its `wagner_whitin`
solves; they have one item and whole periods, so they are orders of one item. Examples
and problems are numbered as in Snyder and Shen, Fundamentals of Supply Chain Theory,
2nd ed., Wiley 2019; `scmo` is the library's name for Snyder, Smilowitz and Shen, Supply
Chain Modeling and Optimization. The cost is what the library's `wagner_whitin` returns.
Its other instances have no horizon or an uncertain demand, and are no orders.

The first of them, `example_3_9`, is C-32 in `test_published`.
"""

import pytest

from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.compact_model.whole_programme import best_whole
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.wishes import NO_WISHES
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, day
from tests.engine.ordering.test_published import all_but

# Instance, demand, set-up cost, holding a unit and period, price a unit by period, the
# best lots, what they cost, and units a pack (all lots are whole packs).
INSTANCES = [
    # 3 x 120 and 80 held once at 0.8.
    pytest.param(
        [150, 100, 80, 200],
        120,
        0.8,
        [0, 0, 0, 0],
        [150, 180, 0, 200],
        424.0,
        10,
        id="problem_3_27",
    ),
    # 3 x 100; 580 and 650 held once at 0.1.
    pytest.param(
        [730, 580, 445, 650, 880],
        100,
        0.1,
        [0, 0, 0, 0, 0],
        [1310, 0, 1095, 0, 880],
        423.0,
        5,
        id="problem_3_29",
    ),
    # 400 x 3 + 3000 x 1 + 2 x 100; 500 held once, 1100 twice, 900 three times at 0.1.
    pytest.param(
        [400, 500, 500, 1100, 900],
        100,
        0.1,
        [3, 1, 4, 6, 6],
        [400, 3000, 0, 0, 0],
        4940.0,
        100,
        id="scmo_ww_hw_c",
    ),
]


def kitchen_of(demand, setup, holding, prices, size):
    """A unit that period n brings is paid for standing until the end."""
    periods = len(demand)
    return shelves.kitchen(
        shelves.items({"name": "units"}),
        suppliers=[
            shelves.supplier(
                f"period {n}", delivery_fee=setup, closed_on=all_but(n, periods)
            )
            for n in range(periods)
        ],
        packs=[
            shelves.pack(
                0,
                size,
                round(size * (price + holding * (periods - n)), 2),
                supplier=n,
                pack_id=n + 1,
            )
            for n, price in enumerate(prices)
        ],
        leftover_worth=0.0,
    )


def stands_in_every_plan(demand, holding):
    """What is paid too much: each unit's holding from its use to the end."""
    return holding * sum(amount * (len(demand) - n) for n, amount in enumerate(demand))


@pytest.mark.parametrize(
    ("demand", "setup", "holding", "prices", "lots", "cost", "size"), INSTANCES
)
def test_a_librarys_instances_cost_what_it_says(
    demand, setup, holding, prices, lots, cost, size
):
    kitchen = kitchen_of(demand, setup, holding, prices, size)
    window = shelves.window(MON, len(demand) + 1)
    used = {(0, day(n + 1)): float(amount) for n, amount in enumerate(demand)}
    rows = shelves.demand(kitchen.nodes, used)
    deliveries = possible_deliveries(kitchen, window)
    in_all = stands_in_every_plan(demand, holding)

    purchasing = best_orders(kitchen, window, rows, deliveries, effort=QUICK)
    whole = best_whole(
        read_problem(kitchen, window, rows, deliveries, NO_WISHES),
        seconds=60,
        nodes=20_000,
        cutoff=None,
        should_stop=lambda: False,
    )

    assert float(purchasing.total_cost) - in_all == pytest.approx(cost, abs=0.01)
    assert purchasing.proof.status == "proven"
    assert whole.bound - in_all == pytest.approx(cost, abs=0.1)
    bought = [0] * len(demand)
    for (truck, _), packs in whole.counts.items():
        bought[(deliveries[truck].deliver_on - MON).days - 1] += packs * size
    assert bought == lots
