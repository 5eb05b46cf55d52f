from hypothesis import given, settings

from planning.engine.ordering.explain.next_best import Alternative, NextBest
from planning.engine.ordering.explain.refining import LEAST_GAIN, refined
from planning.engine.ordering.instance.selections import Selector
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import day, problem_of
from tests.engine.ordering.test_next_best import contested_kitchens


def never():
    return False


def two_suppliers():
    """20 g for Thursday: 14 and a fee of 3 from the Mill, 12 from the Dairy."""
    kitchen = shelves.kitchen(
        shelves.items({"name": "butter"}),
        suppliers=[
            shelves.supplier("Mill", days=(1,), delivery_fee=3),
            shelves.supplier("Dairy", days=(2,)),
        ],
        packs=[shelves.pack(0, 20, 14), shelves.pack(0, 20, 12, supplier=1)],
        leftover_worth=0.0,
    )
    return problem_of(kitchen, {(0, day(3)): 20.0})


def test_a_line_that_is_cheaper_elsewhere_goes_there():
    problem = two_suppliers()
    selector = Selector(problem)
    dear = selector.of_counts({(0, 0): 1})

    found = refined(problem, dear, selector, rounds=2, should_stop=never)

    assert (dear.cost, found.cost) == (17, 12)
    assert found.counts == {(1, 1): 1}


def test_told_to_stop_it_changes_nothing_more():
    problem = two_suppliers()
    selector = Selector(problem)
    dear = selector.of_counts({(0, 0): 1})

    found = refined(problem, dear, selector, rounds=2, should_stop=lambda: True)

    assert found is dear


def test_what_will_not_do_is_left_alone():
    problem = two_suppliers()
    selector = Selector(problem)
    nothing = selector.of_counts({})

    assert refined(problem, nothing, selector, rounds=2, should_stop=never) is nothing


@settings(max_examples=100, deadline=None)
@given(contested_kitchens())
def test_at_the_end_no_item_is_cheaper_otherwise(case):
    kitchen, used = case
    problem = problem_of(kitchen, used)
    selector = Selector(problem)
    # The most of everything, as far as it can be ordered.
    most = selector.of_choices(
        [tuple(len(offer.cost) - 1 for offer in task.offers) for task in problem.tasks]
    )

    found = refined(problem, most, selector, rounds=50, should_stop=never)

    assert found.cost <= most.cost
    assert found.will_do == most.will_do
    if found.will_do:
        next_best = NextBest(problem, found, selector)
        ways = [next_best.instead_of(cell) for cell in found.counts]
        assert all(
            way.dearer > -LEAST_GAIN for way in ways if isinstance(way, Alternative)
        )
