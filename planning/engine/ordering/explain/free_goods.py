"""Goods that cost nothing: no more of them than are of use."""

from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import sellable
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector

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
