"""Orders beside decided lines, in random kitchens: kept, enough, and nothing twice."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from planning.engine.shortfalls.after_orders import still_lacking
from planning.engine.shortfalls.situations import read_situation
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.decisions import decided, packs_of
from tests.engine.ordering.plain_milp import least_cost
from tests.engine.ordering.random_kitchens import MON, kitchens, problem_of
from tests.engine.ordering.test_plain_milp import check, cost_of, without_dates
from tests.engine.ordering.test_whole_programme import whole_of
from tests.engine.said import said
from tests.engine.simulator import simulate, trucks_of

DAYS = 6
WINDOW = shelves.window(MON, DAYS)


def by_search(*question):
    return best_orders(*question, effort=QUICK)


RULES = pytest.mark.parametrize("rule", [usual_rule, by_search])


def question(kitchen, used):
    demand = shelves.demand(kitchen.nodes, used)
    return kitchen, WINDOW, demand, possible_deliveries(kitchen, WINDOW)


def lines_to_decide(draw, kitchen):
    """Some lines as a person might set them, on deliveries that can be ordered."""
    cells = [
        (pack, truck.deliver_on)
        for pack in kitchen.packs
        for truck in possible_deliveries(kitchen, WINDOW)
        if truck.supplier == pack.supplier
    ]
    assume(cells)
    chosen = draw(
        st.lists(
            st.sampled_from(range(len(cells))), min_size=1, max_size=3, unique=True
        )
    )
    return [
        (pack.pack_id, pack.multiple * draw(st.integers(pack.minimum_packs, 4)), on)
        for pack, on in (cells[place] for place in chosen)
    ]


@st.composite
def decided_kitchens(draw):
    kitchen, used = draw(kitchens(items=3, most_packs=5))
    return decided(kitchen, *lines_to_decide(draw, kitchen)), used


@RULES
@settings(max_examples=120, deadline=None)
@given(decided_kitchens())
def test_what_was_decided_on_comes_and_the_simulator_agrees(rule, case):
    kitchen, used = case

    found = rule(*question(kitchen, used))

    packs = packs_of(found)
    for line in kitchen.decided:
        assert packs[line.pack_id, line.deliver_on] >= line.packs
    outcome = simulate(kitchen, WINDOW, used, trucks_of(kitchen, found.orders))
    assert outcome.broken_rules == []
    assert (outcome.goods, outcome.fees) == (found.goods_cost, found.fees)


@RULES
@settings(max_examples=120, deadline=None)
@given(decided_kitchens())
def test_nothing_lacks_that_more_could_help_and_no_sentence_asks_for_it(rule, case):
    kitchen, used = case
    asked = question(kitchen, used)

    found = rule(*asked)

    lacking = still_lacking(read_situation(*asked), found.orders)
    assert not [each for each in lacking if each.is_avoidable]
    named = {kitchen.nodes.names[each.node] for each in lacking}
    for sentence in said(kitchen, found).warnings:
        name = sentence.partition(":")[0].lower()
        assert name in named or "Buy" not in sentence


@RULES
@settings(max_examples=120, deadline=None)
@given(kitchens(items=3, most_packs=5))
def test_once_all_is_approved_nothing_more_is_bought(rule, case):
    kitchen, used = case
    first = rule(*question(kitchen, used))
    assume(first.orders)
    lines = [(pack_id, packs, on) for (pack_id, on), packs in packs_of(first).items()]

    again = rule(*question(decided(kitchen, *lines), used))

    if rule is usual_rule or first.proof.status == "proven":
        assert packs_of(again) == packs_of(first)
    assert packs_of(again).items() >= packs_of(first).items()


@settings(max_examples=120, deadline=None)
@given(decided_kitchens())
def test_the_bound_is_below_every_plan_that_keeps_what_was_decided_on(case):
    kitchen, used = case
    asked = question(kitchen, used)

    found, usual = by_search(*asked), usual_rule(*asked)

    def cost(purchasing):
        trucks = trucks_of(kitchen, purchasing.orders)
        outcome = simulate(kitchen, WINDOW, used, trucks)
        return float(outcome.goods + outcome.fees) - outcome.worth

    bound = cost(found) - found.proof.gap * float(found.total_cost)
    assert bound <= cost(usual) + 0.01
    assert cost(found) <= cost(usual) + 0.01


@settings(max_examples=60, deadline=None)
@given(decided_kitchens())
def test_what_keeps_is_bought_beside_it_at_the_least_cost(case):
    kitchen, used = without_dates(case[0]), case[1]
    least, trucks = least_cost(kitchen, WINDOW, used)

    best = cost_of(kitchen, used, trucks)
    whole = whole_of(problem_of(kitchen, used))

    assert best == pytest.approx(least, abs=1e-4)
    assert whole.bound == pytest.approx(least, abs=1e-3 + 1e-4 * abs(least))
    check(kitchen, used, least, best)


@settings(max_examples=60, deadline=None)
@given(decided_kitchens())
def test_what_goes_out_of_date_costs_beside_it_what_the_proof_allows(case):
    kitchen, used = case
    least, trucks = least_cost(kitchen, WINDOW, used)

    best = cost_of(kitchen, used, trucks)

    assert best >= least - 1e-4
    check(kitchen, used, least, best)
