"""A search's best selection as the orders of a plan."""

import numpy as np

from planning.engine.costing import NOTHING, delivery_fee, line_cost
from planning.engine.ordering.pricing.tasks import Task
from planning.engine.ordering.proving.best_so_far import BestSoFar
from planning.engine.ordering.question.problems import Problem
from planning.engine.ordering.question.selections import Cell
from planning.engine.ordering.saying.reasons import Reasons
from planning.engine.plan import Proof, ShortfallKind, SuggestedLine, SuggestedOrder
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shelves.supplies import window_days
from planning.engine.usual.helpless import too_early_words, unhelped_words, unsold_words
from planning.engine.words import day_words


def orders_of(reasons: Reasons) -> tuple[SuggestedOrder, ...]:
    """Return a selection as orders, by day, then by the supplier's name."""
    problem, counts = reasons.problem, reasons.selection.counts
    kitchen = problem.kitchen
    names = kitchen.nodes.names
    by_truck: dict[int, list[SuggestedLine]] = {}
    in_order = sorted(
        counts,
        key=lambda cell: (
            names[kitchen.packs[cell[1]].node].casefold(),
            kitchen.packs[cell[1]].label,
            cell,
        ),
    )
    for truck, place in in_order:
        by_truck.setdefault(truck, []).append(_line(reasons, (truck, place)))
    orders = []
    for truck, lines in by_truck.items():
        delivery = problem.trucks[truck]
        supplier = kitchen.suppliers[delivery.supplier]
        goods = sum((line.line_cost for line in lines), NOTHING)
        orders.append(
            SuggestedOrder(
                supplier=delivery.supplier,
                order_by=delivery.order_by,
                deliver_on=delivery.deliver_on,
                lines=tuple(lines),
                goods_cost=goods,
                fee=delivery_fee(supplier, goods),
            )
        )
    return tuple(
        sorted(
            orders,
            key=lambda order: (
                order.deliver_on,
                kitchen.suppliers[order.supplier].name.casefold(),
            ),
        )
    )


def _line(reasons: Reasons, cell: Cell) -> SuggestedLine:
    pack = reasons.problem.kitchen.packs[cell[1]]
    packs = reasons.selection.counts[cell]
    return SuggestedLine(
        pack=pack,
        packs=packs,
        price=pack.price_at(packs),
        line_cost=line_cost(pack, packs),
        because=reasons.sentences(cell),
    )


def proof_of(search: BestSoFar, *, is_whole: bool) -> Proof:
    """Return how close to the best the orders are known to be.

    Nothing is known where they leave short what could be helped, or are not whole:
    a delivery that they asked for cannot come.
    """
    best = search.best
    if best is None or not best.will_do or not is_whole:
        return Proof("best found", float("inf"))
    status = "proven" if search.is_proven else "best found"
    return Proof(status, float(search.gap) if best.counts else 0.0)


def helpless_warnings(problem: Problem) -> list[str]:
    """Return a sentence for every item that no delivery can save in time."""
    found = []
    for task in problem.tasks:
        sentence = _helpless(problem, task)
        if sentence:
            found.append(sentence)
    return found


def _helpless(problem: Problem, task: Task) -> str | None:
    days, name = window_days(problem.window), problem.kitchen.nodes.names[task.node]
    low_base = task.safety_base - task.least_closing_base
    below_par_base = problem.par.least_base[task.node] - task.least_closing_base
    out = np.flatnonzero(task.most_owed_base >= LEAST_LACK_BASE)
    low = np.flatnonzero(low_base >= LEAST_LACK_BASE)
    below_par = np.flatnonzero(below_par_base >= LEAST_LACK_BASE)
    if len(out):
        what = f"{ShortfallKind.OUT} on {day_words(days[out[0]])}"
    elif len(low):
        what = f"{ShortfallKind.BELOW_SAFETY} on {day_words(days[low[0]])}"
    elif len(below_par):
        what = f"{ShortfallKind.BELOW_PAR} on {day_words(days[below_par[0]])}"
    else:
        return None
    if not any(pack.node == task.node for pack in problem.kitchen.packs):
        return unsold_words(name, what)
    return too_early_words(name, what) if task.offers else unhelped_words(name, what)
