"""The last touch to a selection: one item after the other bought better.

Each line is taken off its delivery where the next best way turns out to cost less, all
other items the same. It ends where no item has such a way, or after a few rounds.
"""

from collections.abc import Callable

from planning.engine.ordering.explain.next_best import Alternative, NextBest
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector

LEAST_GAIN = 0.005


def refined(
    problem: Problem,
    selection: Selection,
    selector: Selector,
    *,
    rounds: int,
    should_stop: Callable[[], bool],
) -> Selection:
    """Return a selection that costs no more, and can be ordered as it could before.

    One that will not do is returned as it is.
    """
    if not selection.will_do:
        return selection
    for _ in range(rounds):
        known = selection
        selection = _refined_once(problem, selection, selector, should_stop)
        if selection is known:
            break
    return selection


def _refined_once(
    problem: Problem,
    selection: Selection,
    selector: Selector,
    should_stop: Callable[[], bool],
) -> Selection:
    def by_item(cell: Cell) -> tuple[int, Cell]:
        return problem.kitchen.packs[cell[1]].node, cell

    next_best = NextBest(problem, selection, selector)
    for cell in sorted(selection.counts, key=by_item):
        if should_stop():
            break
        is_held = cell in problem.fixed or cell in problem.decided
        if cell not in selection.counts or is_held:
            continue
        way = next_best.instead_of(cell)
        if isinstance(way, Alternative) and way.dearer <= -LEAST_GAIN:
            selection = selector.of_counts(way.counts)
            next_best = NextBest(problem, selection, selector)
    return selection
