"""The usual rule's orders in random kitchens, followed day by day by a simulator."""

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import NO_LIMIT_DAYS
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.simulator import (
    flood_trucks,
    least_for_par,
    par_days_of,
    simulate,
    trucks_of,
)
from tests.engine.usual_questions import MON, day

AMOUNTS = st.integers(0, 60).map(float)
DAYS = 10


@st.composite
def random_kitchens(draw):
    keeps = st.one_of(st.just(NO_LIMIT_DAYS), st.integers(1, 6))
    nodes = shelves.items(
        *(
            {
                "name": f"item {node}",
                "keeps": draw(keeps),
                "par": draw(AMOUNTS),
                "safety": draw(AMOUNTS),
            }
            for node in range(3)
        )
    )
    node, day_number = st.integers(0, 2), st.integers(-1, DAYS)
    weekdays = st.sets(st.integers(0, 6))
    suppliers = [
        shelves.supplier(
            name,
            days=sorted(draw(weekdays)),
            usable_next_day=draw(st.booleans()),
            minimum_order=draw(st.integers(0, 60)),
            delivery_fee=draw(st.integers(0, 9)),
            free_delivery_from=draw(st.one_of(st.none(), st.integers(1, 90))),
        )
        for name in ("Dairy", "Mill")
    ]
    packs = [
        shelves.pack(
            of,
            draw(st.integers(1, 30)),
            draw(st.integers(1, 900)) / 100,
            supplier=draw(st.integers(0, 1)),
            pack_id=number,
            minimum_packs=draw(st.integers(1, 3)),
            multiple=draw(st.integers(1, 3)),
            preferred=draw(st.booleans()),
        )
        for number, of in enumerate(draw(st.lists(node, max_size=6)), start=1)
    ]
    any_day = st.one_of(st.none(), day_number.map(day))
    lots = draw(st.lists(st.tuples(node, AMOUNTS, any_day), max_size=5))
    return shelves.kitchen(
        nodes,
        lots=lots,
        orders=draw(
            st.lists(
                st.tuples(node, AMOUNTS, day_number.map(day), st.integers(0, 1)),
                max_size=4,
            )
        ),
        suppliers=suppliers,
        packs=packs,
        closed_weekdays=frozenset(draw(st.sets(st.integers(0, 6), max_size=1))),
    ), draw(
        st.dictionaries(
            st.tuples(node, st.integers(0, DAYS - 1).map(day)), AMOUNTS, max_size=12
        )
    )


@settings(max_examples=300, deadline=None)
@given(random_kitchens())
def test_the_orders_can_be_placed_and_leave_less_short(case):
    kitchen, used = case
    window = shelves.window(MON, DAYS)
    deliveries = possible_deliveries(kitchen, window)

    demand = shelves.demand(kitchen.nodes, used)
    purchasing = usual_rule(kitchen, window, demand, deliveries)
    trucks = trucks_of(kitchen, purchasing.orders)
    without = simulate(kitchen, window, used)
    outcome = simulate(kitchen, window, used, trucks)

    possible = {(row.supplier, row.deliver_on) for row in deliveries}
    assert {(truck.supplier, truck.deliver_on) for truck in trucks} <= possible
    assert outcome.broken_rules == []
    assert (outcome.goods, outcome.fees) == (purchasing.goods_cost, purchasing.fees)
    assert purchasing.usual_total == outcome.goods + outcome.fees
    for node in range(3):
        assert outcome.most_outstanding(node) <= without.most_outstanding(node) + 1e-9


@settings(max_examples=300, deadline=None)
@given(random_kitchens())
def test_nothing_is_short_or_below_its_levels_that_could_be_helped(case):
    kitchen, used = case
    window = shelves.window(MON, DAYS)
    deliveries = possible_deliveries(kitchen, window)

    purchasing = usual_rule(
        kitchen, window, shelves.demand(kitchen.nodes, used), deliveries
    )
    outcome = simulate(kitchen, window, used, trucks_of(kitchen, purchasing.orders))
    flood = simulate(kitchen, window, used, flood_trucks(kitchen, deliveries))

    for (node, on), there in outcome.days.items():
        best = flood.days[node, on]
        assert there.outstanding < 0.001 or best.outstanding >= 0.001
        safety = kitchen.nodes.safety_base[node]
        assert there.closing > safety - 0.001 or best.closing <= safety - 0.001
    for node in range(3):
        pairs = [(delivery.supplier, delivery.deliver_on) for delivery in deliveries]
        for on in par_days_of(kitchen, window, node, pairs):
            least = least_for_par(kitchen, node, on) - 0.001
            best = flood.days[node, on].closing
            assert outcome.days[node, on].closing > least or best <= least
