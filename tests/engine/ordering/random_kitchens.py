"""Small random kitchens for the ordering tests, drawn by hypothesis."""

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.kitchen import NO_LIMIT_DAYS, PriceBreak
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.wishes import NO_WISHES
from tests.engine import shelves
from tests.engine.simulator import Truck

MON = date(2026, 5, 4)


def day(number):
    return MON + timedelta(days=number)


def amounts(most=40):
    return st.integers(0, most).map(float)


@st.composite
def suppliers(draw, name, days):
    weekdays = draw(st.sets(st.integers(0, 6), min_size=1, max_size=3))
    return shelves.supplier(
        name,
        days=sorted(weekdays),
        usable_next_day=draw(st.booleans()),
        minimum_order=draw(st.sampled_from([0, 0, 5, 20])),
        delivery_fee=draw(st.sampled_from([0, 3, 7])),
        free_delivery_from=draw(st.sampled_from([None, None, 15, 30])),
    )


@st.composite
def packs(draw, node, supplier, pack_id):
    price = draw(st.integers(1, 400))
    breaks = ()
    if draw(st.integers(0, 3)) == 0:
        from_packs = draw(st.integers(2, 4))
        cheaper = Decimal(draw(st.integers(1, price))) / 100
        breaks = (PriceBreak(from_packs, cheaper),)
    return shelves.pack(
        node,
        draw(st.integers(8, 40)),
        price / 100,
        supplier=supplier,
        pack_id=pack_id,
        minimum_packs=draw(st.sampled_from([1, 1, 1, 2])),
        multiple=draw(st.sampled_from([1, 1, 1, 2])),
        breaks=breaks,
    )


@st.composite
def kitchens(draw, *, items=2, days=6, most_packs=4):
    """A kitchen and its demand by (node, date)."""
    keeps = st.sampled_from([NO_LIMIT_DAYS, 1, 2, 3, 4, 8, 20])
    nodes = shelves.items(
        *(
            {
                "name": f"item {node}",
                "keeps": draw(keeps),
                "par": draw(st.sampled_from([0.0, 0.0, 10.0, 35.0])),
                "safety": draw(st.sampled_from([0.0, 0.0, 5.0, 20.0])),
            }
            for node in range(items)
        )
    )
    node, when = st.integers(0, items - 1), st.integers(-1, days).map(day)
    chosen = draw(st.lists(st.tuples(node, st.integers(0, 1)), max_size=most_packs))
    lots = st.tuples(node, amounts(), st.one_of(st.none(), when))
    orders = st.tuples(node, amounts(), when, st.integers(0, 1))
    kitchen = shelves.kitchen(
        nodes,
        lots=draw(st.lists(lots, max_size=3)),
        orders=draw(st.lists(orders, max_size=2)),
        suppliers=[draw(suppliers(name, days)) for name in ("Dairy", "Mill")],
        packs=[
            draw(packs(of, supplier, number))
            for number, (of, supplier) in enumerate(chosen, start=1)
        ],
        par_weekdays=frozenset(draw(st.sets(st.integers(0, 6), max_size=3))),
    )
    cell = st.tuples(node, st.integers(0, days - 1).map(day))
    return kitchen, draw(st.dictionaries(cell, amounts(), max_size=8))


def problem_of(kitchen, used, *, days=6, wishes=NO_WISHES):
    window = shelves.window(MON, days)
    deliveries = possible_deliveries(kitchen, window)
    demand = shelves.demand(kitchen.nodes, used)
    return read_problem(kitchen, window, demand, deliveries, wishes)


def trucks_of_choices(problem, choices):
    """The trucks of the simulator for a choice of options, an item each."""
    packs = {}
    for task, choice in zip(problem.tasks, choices, strict=True):
        for offer, option in zip(task.offers, choice, strict=True):
            for place, count in offer.lines[option]:
                packs.setdefault(offer.delivery, {})[place] = count
    return [
        Truck(problem.trucks[n].supplier, problem.trucks[n].deliver_on, mine)
        for n, mine in sorted(packs.items())
    ]
