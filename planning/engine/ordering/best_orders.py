"""The best orders that can be found for a kitchen, with their proof and their reasons.

The usual rule's orders are the first answer; every later one is better. The search
goes on until its bound proves that nothing better is left, its effort is spent or it
is told to stop.
"""

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import replace

from planning.engine.decided import small_orders
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.column_generation.efforts import USUAL, Effort, Progress
from planning.engine.ordering.explain.answers import (
    lacking_warnings,
    orders_of,
    proof_of,
)
from planning.engine.ordering.explain.minimums import (
    passed_by_warnings,
    unreached_warnings,
    waste_warnings,
)
from planning.engine.ordering.explain.order_comparison import counts_of
from planning.engine.ordering.explain.reasons import Reasons
from planning.engine.ordering.explain.refining import refined, without_idle_goods
from planning.engine.ordering.instance.options import HALF_CENT
from planning.engine.ordering.instance.problems import read_problem
from planning.engine.ordering.instance.selections import Selection
from planning.engine.ordering.instance.wishes import NO_WISHES, Wishes
from planning.engine.ordering.search import Search
from planning.engine.plan import Demand, Purchasing
from planning.engine.reasons import OrderWarning
from planning.engine.shortfalls.shortfalls import CakesBehind
from planning.engine.usual_rule.usual_rule import usual_rule

MOST_REFININGS = 2  # rounds over all lines


def best_orders(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    *,
    effort: Effort = USUAL,
    on_progress: Callable[[Progress], None] | None = None,
    should_stop: Callable[[], bool] | None = None,
    wishes: Wishes = NO_WISHES,
    cakes_behind: CakesBehind | None = None,
    clock: Callable[[], float] = time.monotonic,
) -> Purchasing:
    """Return the best orders found, never worse than the usual rule's.

    `cakes_behind` tells which cakes need an item. With wishes the usual rule's orders
    are no answer, only its total is.
    """
    usual = usual_rule(kitchen, window, demand, deliveries)
    if on_progress is not None and not wishes.has_any:
        on_progress(Progress("usual rule", float(usual.total_cost), math.inf))
    problem = read_problem(kitchen, window, demand, deliveries, wishes)
    search = Search(problem, effort, clock, _teller(on_progress), should_stop or _never)
    best, is_whole = _searched(search, None if wishes.has_any else usual)
    reasons = Reasons(problem, best, search.selector, cakes_behind)
    found = Purchasing(
        orders=orders_of(reasons),
        usual_total=usual.usual_total,
        proof=proof_of(search, is_whole=is_whole),
    )
    warnings = _warnings(reasons, found, demand, deliveries, wishes)
    return replace(found, warnings=warnings)


def _teller(
    on_progress: Callable[[Progress], None] | None,
) -> Callable[[BestSoFar, str], None]:
    """Return what tells of the best orders so far, once there are any."""

    def tell(search: BestSoFar, stage: str) -> None:
        if on_progress is not None and search.best is not None:
            on_progress(Progress(stage, search.best.paid, search.gap))

    return tell


def _searched(search: Search, usual: Purchasing | None) -> tuple[Selection, bool]:
    """Search, from the usual rule's orders where there are any.

    Return the best orders, whose proof the search then has, and whether all that it
    chose can go.
    """
    problem = search.problem
    if usual is not None:
        search.offer(search.selector.of_counts(counts_of(problem, usual)))
    search.run()
    _refine(search)
    best = search.best or search.selector.of_counts(problem.decided)
    going = _without_small_deliveries(search, best)
    search.best = without_idle_goods(problem, going, search.selector)
    search.told(search, "reasons")
    return search.best, going is best


def _never() -> bool:
    return False


def _refine(search: Search) -> None:
    """Buy one item after the other better, unless nothing better is left."""
    if search.best is not None and not search.is_proven:
        search.offer(
            refined(
                search.problem,
                search.best,
                search.selector,
                rounds=MOST_REFININGS,
                should_stop=search.should_stop,
            )
        )


def _warnings(
    reasons: Reasons,
    found: Purchasing,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    wishes: Wishes,
) -> tuple[OrderWarning, ...]:
    """Return what lacks, what minimum orders did, waste, and small orders."""
    problem, best = reasons.problem, reasons.selection
    kitchen, window = problem.kitchen, problem.window
    return (
        *lacking_warnings(problem, demand, deliveries, found, wishes),
        *unreached_warnings(problem, best, reasons.selector),
        *passed_by_warnings(problem, best),
        *waste_warnings(kitchen, window, demand, deliveries, found),
        *small_orders(kitchen, found.orders),
    )


def _without_small_deliveries(search: Search, selection: Selection) -> Selection:
    """Leave out the deliveries that stay below their minimum order.

    What somebody has decided on stays all the same.
    """
    if selection.can_go:
        return selection
    terms = search.problem.terms
    decided = {truck for truck, _ in search.problem.decided}
    counts = {
        cell: packs
        for cell, packs in selection.counts.items()
        if cell[0] in decided
        or selection.goods[cell[0]] >= terms[cell[0]].minimum - HALF_CENT
    }
    return search.selector.of_counts(counts)
