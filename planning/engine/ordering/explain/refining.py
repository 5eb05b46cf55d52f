"""The last touch to a selection: one item after the other bought better.

Each line is taken off its delivery where the next best way turns out to cost less, all
other items the same. It ends where no item has such a way, or after a few rounds.

Goods that cost nothing: no more of them than are of use.
"""

from collections.abc import Callable

from planning.engine.costing import sellable
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


LEAST_MONEY = 1e-6


def without_idle_goods(
    problem: Problem, selection: Selection, selector: Selector
) -> Selection:
    """Return a selection without free packs that save nothing, the earliest first.

    It costs no more, and leaves no more short.
    """
    free = [
        cell
        for cell, count in selection.counts.items()
        if not problem.pack(cell).price_at(count)
        and cell not in problem.fixed
        and cell not in problem.decided
    ]
    for cell in sorted(free, key=lambda cell: problem.trucks[cell[0]].deliver_on):
        selection = _trimmed(problem, selection, selector, cell)
    return selection


def _trimmed(
    problem: Problem, selection: Selection, selector: Selector, cell: Cell
) -> Selection:
    """Return a selection with as few packs of one line as do no harm."""
    pack = problem.pack(cell)

    def with_packs(packs: int) -> Selection:
        counts = dict(selection.counts)
        counts[cell] = sellable(pack, packs)
        if not packs:
            del counts[cell]
        return selector.of_counts(counts)

    if _is_as_good(with_packs(0), selection):
        return with_packs(0)
    low, high = 1, selection.counts[cell]
    while low < high:
        middle = (low + high) // 2
        if _is_as_good(with_packs(middle), selection):
            high = middle
        else:
            low = middle + 1
    return with_packs(high)


def _is_as_good(found: Selection, known: Selection) -> bool:
    return (
        found.is_enough >= known.is_enough
        and found.can_go >= known.can_go
        and found.cost <= known.cost + LEAST_MONEY
    )
