"""What the next best would have cost, beside every other way of buying the item."""

import itertools

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.ordering.explain.next_best import NextBest, NoWay
from planning.engine.ordering.instance.selections import Selector
from planning.engine.ordering.search import Search
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, day, problem_of
from tests.engine.ordering.random_kitchens import packs as packs_of
from tests.engine.simulator import Truck, simulate

MOST_CHOICES = 4_000


def searched(problem):
    search = Search(problem, QUICK, lambda: 0.0, lambda *_: None, lambda: False)
    search.offer(search.selector.of_counts({}))
    search.run()
    return search.best


def cost_of(problem, used, counts):
    """What some packs cost, less what is left over is worth; None: they cannot go."""
    trucks = {}
    for (truck, place), packs in counts.items():
        trucks.setdefault(truck, {})[place] = packs
    outcome = simulate(
        problem.kitchen,
        problem.window,
        used,
        [
            Truck(problem.trucks[n].supplier, problem.trucks[n].deliver_on, mine)
            for n, mine in sorted(trucks.items())
        ],
    )
    if outcome.broken_rules:
        return None
    return float(outcome.goods + outcome.fees) - outcome.worth


@st.composite
def contested_kitchens(draw):
    """Two items that both suppliers sell, each needed late enough for a choice."""
    suppliers = [
        shelves.supplier(
            name,
            days=sorted(draw(st.sets(st.integers(1, 4), min_size=1, max_size=2))),
            minimum_order=draw(st.sampled_from([0, 0, 5, 20])),
            delivery_fee=draw(st.sampled_from([0, 3, 7])),
            free_delivery_from=draw(st.sampled_from([None, 15, 30])),
        )
        for name in ("Dairy", "Mill")
    ]
    packs = [
        draw(packs_of(node, supplier, 10 * node + supplier + 1))
        for node in (0, 1)
        for supplier in (0, 1)
    ]
    keeps = st.sampled_from([2, 3, 5, 8])
    kitchen = shelves.kitchen(
        shelves.items(
            {"name": "butter", "keeps": draw(keeps)},
            {"name": "sugar", "keeps": draw(keeps)},
        ),
        suppliers=suppliers,
        packs=packs,
    )
    cell = st.tuples(st.integers(0, 1), st.integers(3, 5).map(day))
    amount = st.integers(5, 40).map(float)
    return kitchen, draw(st.dictionaries(cell, amount, min_size=1, max_size=4))


def others_of(problem, counts, node):
    packs = problem.kitchen.packs
    return {cell: n for cell, n in counts.items() if packs[cell[1]].node != node}


@settings(max_examples=100, deadline=None)
@given(contested_kitchens())
def test_the_figure_is_the_difference_of_two_whole_orders(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    selection = searched(problem)
    assume(selection.will_do)
    next_best = NextBest(problem, selection, Selector(problem))

    for cell in selection.counts:
        way = next_best.instead_of(cell)
        if isinstance(way, NoWay):
            continue
        after = Selector(problem).of_counts(way.counts)
        assert after.will_do
        assert cell[0] not in {
            truck
            for truck, place in way.counts
            if kitchen.packs[place].node == kitchen.packs[cell[1]].node
        }
        assert way.dearer == pytest.approx(after.cost - selection.cost, abs=1e-6)
        costs = [cost_of(problem, used, s) for s in (way.counts, selection.counts)]
        assert way.dearer == pytest.approx(costs[0] - costs[1], abs=1e-6)


@settings(max_examples=100, deadline=None)
@given(contested_kitchens())
def test_no_other_way_of_buying_the_item_costs_less(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    selection = searched(problem)
    assume(selection.will_do)
    selector = Selector(problem)
    next_best = NextBest(problem, selection, selector)

    for cell in selection.counts:
        task = problem.tasks[selector.task_of_node[kitchen.packs[cell[1]].node]]
        options = [
            [0] if offer.delivery == cell[0] else range(len(offer.cost))
            for offer in task.offers
        ]
        if np.prod([len(some) for some in options]) > MOST_CHOICES:
            continue
        others = others_of(problem, selection.counts, task.node)
        least, is_ever_enough = float("inf"), False
        for choice in itertools.product(*options):
            lines = {
                (offer.delivery, place): packs
                for offer, option in zip(task.offers, choice, strict=True)
                for place, packs in offer.lines[option]
            }
            found = selector.of_counts({**others, **lines})
            is_ever_enough |= found.is_enough
            if found.will_do:
                least = min(least, found.cost - selection.cost)
        way = next_best.instead_of(cell)
        assert is_ever_enough == (way is not NoWay.TOO_LATE)
        if isinstance(way, NoWay):
            assert least == float("inf")
        else:
            assert way.dearer <= least + 1e-6


def one_item(*packs, suppliers, used, **item):
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter", **item}),
        suppliers=suppliers,
        packs=packs,
        leftover_worth=0.0,
    )
    problem = problem_of(kitchen, {(0, MON.replace(day=d)): n for d, n in used.items()})
    return problem, Selector(problem)


def ways(problem, selector, *lines):
    """The next best of each line: (weekday, place of the pack, packs)."""
    truck_of = {
        (truck.deliver_on - MON).days * 10 + truck.supplier: number
        for number, truck in enumerate(problem.trucks)
    }
    packs = problem.kitchen.packs
    counts = {
        (truck_of[day * 10 + packs[place].supplier], place): count
        for day, place, count in lines
    }
    next_best = NextBest(problem, selector.of_counts(counts), selector)
    return [next_best.instead_of(cell) for cell in counts]


def test_the_other_supplier_costs_its_dearer_packs_and_its_fee_less_this_one():
    # 20 g: 2 x 5 and a fee of 3 here, 1 x 12 and a fee of 4 there: 16 against 13.
    problem, selector = one_item(
        shelves.pack(0, 10, 5),
        shelves.pack(0, 20, 12, supplier=1),
        suppliers=[
            shelves.supplier("Mill", days=(1,), delivery_fee=3),
            shelves.supplier("Dairy", days=(2,), delivery_fee=4),
        ],
        used={7: 20.0},
    )

    [way] = ways(problem, selector, (1, 0, 2))

    assert way.dearer == pytest.approx(3)
    assert list(way.counts.values()) == [1]


def test_where_the_rest_comes_without_the_line_its_minimum_order_is_filled_up():
    # The Mill brings butter for 10 and sugar for 6 and asks for 16. Butter from the
    # Dairy costs 12; the Mill then brings two more bags of sugar, for 12, of no use.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}, {"name": "sugar"}),
        suppliers=[
            shelves.supplier("Mill", days=(1,), minimum_order=16),
            shelves.supplier("Dairy", days=(2,)),
        ],
        packs=[
            shelves.pack(0, 10, 10),
            shelves.pack(1, 10, 6),
            shelves.pack(0, 10, 12, supplier=1),
        ],
        leftover_worth=0.0,
    )
    thursday = MON.replace(day=7)
    problem = problem_of(kitchen, {(0, thursday): 10.0, (1, thursday): 10.0})

    way, _ = ways(problem, Selector(problem), (1, 0, 1), (1, 1, 1))

    # 12 + 18 against 10 + 6.
    assert way.dearer == pytest.approx(14)
    assert [filler.more for filler in way.fillers] == [2]


def test_there_is_no_next_best_where_no_other_delivery_is_in_time():
    problem, selector = one_item(
        shelves.pack(0, 10, 5),
        suppliers=[shelves.supplier("Mill", days=(1, 4))],
        used={7: 20.0},
    )

    assert ways(problem, selector, (1, 0, 2)) == [NoWay.TOO_LATE]
