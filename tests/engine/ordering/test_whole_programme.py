"""The whole programme beside a plain one, the simulator and every choice there is."""

import itertools
from decimal import Decimal

import pytest
from hypothesis import assume, given, settings

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.kitchen import PriceBreak
from planning.engine.ordering.compact_model.whole_programme import best_whole
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.selections import Selector
from planning.engine.ordering.instance.wishes import NO_WISHES, FixedLine, Wishes
from tests.benchmarks.bakeries import Size, kitchen_of, sheets_of, window_of
from tests.engine import shelves
from tests.engine.ordering.plain_milp import least_cost
from tests.engine.ordering.random_kitchens import MON, day, kitchens, problem_of
from tests.engine.ordering.test_best_orders import flood, lacks_more, outcome_of
from tests.engine.ordering.test_plain_milp import cost_of, without_dates
from tests.engine.simulator import Truck

WINDOW = shelves.window(MON, 6)
MOST_CHOICES = 600
MOST_PACKS = 5
TWO_COUNTS = {(0, 0): 1, (0, 1): 2}


def whole_of(problem, *, cutoff=None, should_stop=lambda: False):
    return best_whole(
        problem, seconds=60, nodes=20_000, cutoff=cutoff, should_stop=should_stop
    )


def never_more(problem, cost):
    """What a bound can be below the cost: the solver's gap, and lacks that are none."""
    lacks = sum(task.worth * task.tolerance_base for task in problem.tasks)
    return 1e-5 + 2e-5 * abs(cost) + 2 * lacks


def trucks_of_counts(problem, counts):
    packs = {}
    for (truck, place), count in counts.items():
        packs.setdefault(truck, {})[place] = count
    return [
        Truck(problem.trucks[n].supplier, problem.trucks[n].deliver_on, mine)
        for n, mine in sorted(packs.items())
    ]


@settings(max_examples=100, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_the_answer_can_be_carried_out_at_the_cost_that_is_promised(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)

    whole = whole_of(problem)

    selection = Selector(problem).of_counts(whole.counts)
    assert selection.will_do
    assert whole.bound <= selection.cost + 1e-6
    assert selection.cost <= whole.bound + never_more(problem, selection.cost)
    trucks = trucks_of_counts(problem, whole.counts)
    assert cost_of(kitchen, used, trucks) == pytest.approx(selection.cost, abs=1e-6)


@settings(max_examples=60, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_what_keeps_costs_as_much_as_in_the_plain_programme(case):
    kitchen, used = without_dates(case[0]), case[1]
    least, _ = least_cost(kitchen, WINDOW, used)
    problem = problem_of(kitchen, used)

    whole = whole_of(problem)

    assert whole.bound <= least + 1e-6
    assert least <= whole.bound + never_more(problem, least)


@settings(max_examples=60, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_what_goes_out_of_date_costs_no_less_than_in_the_plain_programme(case):
    kitchen, used = case
    least, trucks = least_cost(kitchen, WINDOW, used)
    problem = problem_of(kitchen, used)

    whole = whole_of(problem)

    assert whole.bound >= least - never_more(problem, least)
    assert whole.bound <= cost_of(kitchen, used, trucks) + 1e-6


@settings(max_examples=60, deadline=None)
@given(kitchens(items=2, most_packs=2))
def test_no_number_of_packs_of_all_is_cheaper(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    cells = [
        (truck, place)
        for truck, delivery in enumerate(problem.trucks)
        for place, pack in enumerate(kitchen.packs)
        if pack.supplier == delivery.supplier
    ]
    assume((MOST_PACKS + 1) ** len(cells) <= MOST_CHOICES)
    short = outcome_of(kitchen, used, flood(kitchen))
    least = float("inf")
    for counts in itertools.product(range(MOST_PACKS + 1), repeat=len(cells)):
        some = {cell: n for cell, n in zip(cells, counts, strict=True) if n}
        outcome = outcome_of(kitchen, used, trucks_of_counts(problem, some))
        if not outcome.broken_rules and not lacks_more(kitchen, used, outcome, short):
            cost = float(outcome.goods + outcome.fees) - outcome.worth
            least = min(least, cost)

    whole = whole_of(problem)

    assert whole.bound <= least + 1e-6
    if max(whole.counts.values(), default=0) <= MOST_PACKS:
        assert least <= whole.bound + never_more(problem, least)


@settings(max_examples=60, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_only_what_costs_no_more_than_the_cutoff_is_looked_for(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    least = whole_of(problem).bound

    above = whole_of(problem, cutoff=least + 0.1)
    below = whole_of(problem, cutoff=least - 0.1)

    assert above.bound == pytest.approx(least, abs=never_more(problem, least))
    assert Selector(problem).of_counts(above.counts).cost <= least + 0.1
    assert below.bound == pytest.approx(least - 0.1, abs=1e-6 * (1 + abs(least)))


def two_items(**terms):
    """Ten of flour are needed and no sugar; nothing left over is worth anything."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour"}, {"name": "sugar"}),
        suppliers=[shelves.supplier("Mill", days=(1,), **terms)],
        packs=[
            shelves.pack(0, 10, 6, pack_id=1),
            shelves.pack(1, 10, 7, pack_id=2),
        ],
        leftover_worth=0.0,
    )
    return kitchen, {(0, day(3)): 10.0}


@pytest.mark.parametrize(
    ("terms", "counts", "cost"),
    [
        # 6; with a fee of 3, 9.
        ({}, {(0, 0): 1}, 6),
        ({"delivery_fee": 3}, {(0, 0): 1}, 9),
        # 20 are asked for: 4 x 6 = 24, 3 x 6 + 7 = 25, 2 x 6 + 2 x 7 = 26; but
        # 6 + 2 x 7 = 20, of which the sugar is of no use at all.
        ({"minimum_order": 20}, TWO_COUNTS, 20),
        # With a fee of 15, 6 + 15 = 21 is more than 20 that come free.
        ({"delivery_fee": 15, "free_delivery_from": 20}, TWO_COUNTS, 20),
        # With one of 13 it is less.
        ({"delivery_fee": 13, "free_delivery_from": 20}, {(0, 0): 1}, 19),
    ],
)
def test_a_delivery_is_filled_up_beyond_any_use_where_that_is_cheapest(
    terms, counts, cost
):
    kitchen, used = two_items(**terms)
    problem = problem_of(kitchen, used)

    whole = whole_of(problem)

    assert whole.counts == counts
    assert whole.bound == pytest.approx(cost, abs=never_more(problem, cost))


@pytest.mark.parametrize(
    ("price", "packs", "cost", "open_cents"),
    [
        # 3 x 0.125 = 0.375, half up 0.38.
        ("0.125", 3, 0.38, 0),
        # 7 x 0.1234 = 0.8638, down to 0.86.
        ("0.1234", 7, 0.86, 0),
        # 101 x 0.1255 = 12.6755, up to 12.68; of so many the cent is left open.
        ("0.1255", 101, 12.68, 1),
    ],
)
def test_prices_in_part_cents_are_rounded_once_a_line(price, packs, cost, open_cents):
    kitchen = shelves.kitchen(
        shelves.items({"name": "flour"}),
        suppliers=[shelves.supplier("Mill", days=(1,))],
        packs=[shelves.pack(0, 1, price)],
        leftover_worth=0.0,
    )
    problem = problem_of(kitchen, {(0, day(3)): float(packs)})

    whole = whole_of(problem)

    assert whole.counts == {(0, 0): packs}
    assert cost - 0.01 * open_cents - 1e-4 <= whole.bound <= cost + 1e-6


def test_a_break_holds_for_every_pack_of_the_line():
    # 8 x 5.00 = 40.00; 10 x 3.90 = 39.00.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[shelves.supplier("Dairy", days=(1,))],
        packs=[shelves.pack(0, 1, 5, breaks=(PriceBreak(10, Decimal("3.90")),))],
        leftover_worth=0.0,
    )

    whole = whole_of(problem_of(kitchen, {(0, day(3)): 8.0}))

    assert whole.counts == {(0, 0): 10}


def test_a_break_from_the_first_pack_that_is_sold_is_the_only_price():
    # They come in pairs, and from 2 on each costs 0.63: 1.26, not 1.42.
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[shelves.supplier("Dairy", days=(1,))],
        packs=[
            shelves.pack(
                0, 1, "0.71", multiple=2, breaks=(PriceBreak(2, Decimal("0.63")),)
            )
        ],
        leftover_worth=0.0,
    )

    whole = whole_of(problem_of(kitchen, {(0, day(3)): 2.0}))

    assert whole.counts == {(0, 0): 2}
    assert whole.bound == pytest.approx(1.26, abs=1e-4)


def test_stock_that_goes_out_of_date_first_is_the_first_to_count_as_left_over():
    # Of a lot of 100, 60 are used in 6 days. The 40 that are left are in date for one
    # day more. Par is 49, so a pack of 40 is needed, and no more than 7 a day are
    # believed to be used. Then 31 are above par, all of the lot: 7 are of use, at
    # 1 x 0.5 each. 40 - 3.50 = 36.50.
    kitchen = shelves.kitchen(
        shelves.items({"name": "milk", "keeps": 20, "par": 49.0}),
        lots=[(0, 100.0, day(6))],
        suppliers=[shelves.supplier("Dairy", days=(5,))],
        packs=[shelves.pack(0, 40, 40)],
        leftover_worth=0.5,
    )
    used = {(0, day(n)): 10.0 for n in range(6)}
    problem = problem_of(kitchen, used)

    whole = whole_of(problem)

    assert whole.counts == {(0, 0): 1}
    assert whole.bound == pytest.approx(36.5, abs=never_more(problem, 36.5))


def test_lacks_that_are_none_do_not_make_a_programme_infeasible():
    # A millionth of a pack is no lack, and the solver forgives as much. Its presolve
    # said of this item that nothing will do. The lot is gone on day 2, when only the
    # dairy of day 1 can help. It asks for 150, 9 packs: 168.21, and its fee of 12.
    # They hold 18,900, and all that is used after the lot is 6,096.6, so that will do.
    kitchen = shelves.kitchen(
        shelves.items({"name": "milk", "keeps": 21, "safety": 526.0}),
        lots=[(0, 2628.0, day(1))],
        suppliers=[
            shelves.supplier(
                "Dairy",
                days=(1, 3),
                minimum_order=150,
                delivery_fee=12,
                free_delivery_from=250,
            ),
            shelves.supplier(
                "Mill",
                days=(0, 3),
                usable_next_day=True,
                minimum_order=50,
                delivery_fee=25,
            ),
        ],
        packs=[
            shelves.pack(0, 2100, "18.69", supplier=0, pack_id=1),
            shelves.pack(0, 2100, "19.21", supplier=1, pack_id=2),
        ],
        leftover_worth=0.0,
    )
    by_day = [1262.8, 0, 947.1, 1257.6, 0, 947.1, 0, 0, 947.1, 947.1, 0, 631.4, 419.2]
    used = {(0, day(n)): float(amount) for n, amount in enumerate(by_day) if amount}
    problem = problem_of(kitchen, used, days=14)

    whole = whole_of(problem)

    assert sum(whole.counts.values()) == 9
    assert whole.bound == pytest.approx(180.21, abs=never_more(problem, 180.21))


def test_fixed_lines_are_as_they_are():
    kitchen, used = two_items(minimum_order=20)
    wishes = Wishes(fixed_lines=(FixedLine(2, day(1), 1),))
    problem = problem_of(kitchen, used, wishes=wishes)

    whole = whole_of(problem)

    # 7 and 3 x 6 = 18 make 25; 7 and 2 x 6 are 19.
    assert whole.counts == {(0, 0): 3, (0, 1): 1}
    assert whole.bound == pytest.approx(25, abs=never_more(problem, 25))


def test_where_nothing_will_do_the_bound_is_infinite():
    kitchen, used = two_items(minimum_order=20)
    fixed = (FixedLine(1, day(1), 1), FixedLine(2, day(1), 1))
    problem = problem_of(kitchen, used, wishes=Wishes(fixed_lines=fixed))

    whole = whole_of(problem)

    assert whole.counts is None
    assert whole.bound == float("inf")


def small_bakery():
    size = Size(8, 3, 10)
    kitchen, window = kitchen_of(sheets_of(size, 1)), window_of(size)
    demand = explode(kitchen, window).demand
    deliveries = possible_deliveries(kitchen, window)
    return read_problem(kitchen, window, demand, deliveries, NO_WISHES)


def test_a_bakery_of_eight_items_is_proven_and_a_stop_leaves_a_lower_bound():
    problem = small_bakery()
    asked = []

    def should_stop():
        asked.append(True)
        return True

    whole, stopped = whole_of(problem), whole_of(problem, should_stop=should_stop)

    selection = Selector(problem).of_counts(whole.counts)
    assert selection.will_do
    assert selection.cost <= whole.bound + 1e-4 * selection.paid
    assert asked
    assert stopped.bound < whole.bound
    assert whole_of(problem) == whole


def test_limits_leave_a_lower_bound():
    problem = small_bakery()
    least = whole_of(problem).bound

    for nodes, seconds in ((1, 60), (20_000, 0.0)):
        whole = best_whole(
            problem,
            seconds=seconds,
            nodes=nodes,
            cutoff=None,
            should_stop=lambda: False,
        )

        assert whole.bound <= least + 1e-6
