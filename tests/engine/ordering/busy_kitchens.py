"""Small random kitchens that have to order: few deliveries, and all cost something."""

from hypothesis import strategies as st

from planning.engine.kitchen import NO_LIMIT_DAYS
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import day, packs

DAYS = 6


@st.composite
def busy_suppliers(draw, name):
    """From Tuesday on, so that every delivery is in time to be ordered."""
    return shelves.supplier(
        name,
        days=sorted(draw(st.sets(st.integers(1, 3), min_size=1, max_size=2))),
        usable_next_day=draw(st.booleans()),
        minimum_order=draw(st.sampled_from([0, 4, 8])),
        delivery_fee=draw(st.sampled_from([2, 4, 7])),
        free_delivery_from=draw(st.sampled_from([None, 6, 10])),
    )


@st.composite
def busy_kitchens(draw, *, items=2):
    """A kitchen and its demand by (node, date); each item is used late in the week."""
    keeps = st.sampled_from([NO_LIMIT_DAYS, 2, 3, 4, 8])
    nodes = shelves.items(
        *(
            {
                "name": f"item {node}",
                "keeps": draw(keeps),
                "safety": draw(st.sampled_from([0.0, 0.0, 5.0])),
            }
            for node in range(items)
        )
    )
    chosen = [(node, draw(st.integers(0, 1))) for node in range(items)]
    if draw(st.booleans()):
        chosen.append((0, 1 - chosen[0][1]))
    lots = st.tuples(
        st.integers(0, items - 1),
        st.integers(1, 60).map(float),
        st.one_of(st.none(), st.integers(0, DAYS).map(day)),
    )
    kitchen = shelves.kitchen(
        nodes,
        lots=draw(st.lists(lots, max_size=2)),
        suppliers=[draw(busy_suppliers(name)) for name in ("Dairy", "Mill")],
        packs=[
            draw(packs(of, supplier, number))
            for number, (of, supplier) in enumerate(chosen, start=1)
        ],
    )
    used = {}
    for node in range(items):
        for late in draw(st.sets(st.integers(2, DAYS - 1), min_size=1, max_size=2)):
            used[node, day(late)] = float(draw(st.integers(5, 40)))
    return kitchen, used
