"""A search's best selection as the orders of a plan."""

from collections.abc import Sequence
from dataclasses import replace

from planning.engine.costing import NOTHING, delivery_fee, line_cost
from planning.engine.deliveries import PossibleDelivery
from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.explain.reasons import Reasons
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.wishes import Wishes
from planning.engine.plan import (
    Demand,
    Proof,
    Purchasing,
    SuggestedLine,
    SuggestedOrder,
)
from planning.engine.shortfalls.after_orders import still_lacking
from planning.engine.shortfalls.remedies import Market
from planning.engine.shortfalls.situations import read_situation
from planning.engine.usual_rule.line_reasons import LackingWarning


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
    packs, charged = reasons.selection.counts[cell], reasons.problem.pack(cell)
    return SuggestedLine(
        pack=pack,
        packs=packs,
        price=charged.price_at(packs),
        line_cost=line_cost(charged, packs),
        because=reasons.of(cell),
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


def lacking_warnings(
    problem: Problem,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    found: Purchasing,
    wishes: Wishes,
) -> list[LackingWarning]:
    """Return what lacks with these orders, and with any others.

    Others are all that the wishes allow; what they would help is told with the minimum
    orders and the wishes.
    """
    kitchen, window = problem.kitchen, problem.window
    situation = read_situation(kitchen, window, demand, deliveries)
    if wishes.has_any:
        allowed = Market(kitchen, wishes.allowed(deliveries))
        situation = replace(situation, market=allowed)
    return [
        LackingWarning(each)
        for each in still_lacking(situation, found.orders)
        if not each.is_avoidable
    ]
