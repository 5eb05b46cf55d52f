"""What each effort promises: orders that will do, and a bound that holds."""

import pytest
from hypothesis import given, settings

from planning.engine.ordering.column_generation.best_so_far import PROVEN_GAP
from planning.engine.ordering.column_generation.efforts import QUICK, THOROUGH, USUAL
from planning.engine.ordering.compact_model.whole_programme import best_whole
from planning.engine.ordering.search import Search
from tests.engine.ordering.busy_kitchens import busy_kitchens
from tests.engine.ordering.random_kitchens import problem_of
from tests.engine.ordering.test_best_orders import flood, lacks_more, outcome_of
from tests.engine.ordering.test_whole_programme import never_more, trucks_of_counts


def searched(problem, effort):
    """Search alone, without the usual rule's orders to fall back on."""
    search = Search(problem, effort, lambda: 0.0, lambda *_: None, lambda: False)
    search.run()
    return search


@pytest.mark.parametrize("effort", [QUICK, USUAL, THOROUGH])
@settings(max_examples=30, deadline=None)
@given(busy_kitchens(items=3))
def test_a_search_will_do_and_its_bound_holds(effort, case):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    whole = best_whole(
        problem, seconds=60, nodes=20_000, cutoff=None, should_stop=lambda: False
    )

    search = searched(problem, effort)

    best = search.best
    outcome = outcome_of(kitchen, used, trucks_of_counts(problem, best.counts))
    cost = float(outcome.goods + outcome.fees) - outcome.worth
    assert outcome.broken_rules == []
    assert not lacks_more(
        kitchen, used, outcome, outcome_of(kitchen, used, flood(kitchen))
    )
    assert cost == pytest.approx(best.cost, abs=1e-6)
    # Nothing costs less than the whole programme's bound, and the search finds
    # nothing below it; its own bound is not above what the programme found.
    slack = never_more(problem, best.cost)
    assert cost >= whole.bound - slack
    assert search.bound <= cost + 1e-6
    assert search.bound <= search.selector.of_counts(whole.counts).cost + 1e-6
    if search.is_proven:
        assert cost <= whole.bound + PROVEN_GAP * best.paid + slack
