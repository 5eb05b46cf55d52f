"""What minimum orders keep from being bought, and what is done instead.

A caution where most of what is bought goes out of date.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import numpy as np

from planning.engine.costing import (
    NOTHING,
    line_cost,
    packs_for,
    price_per_base,
    sellable,
)
from planning.engine.decided import coming_lines
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import Kitchen, PackTerms, Window
from planning.engine.ordering.explain.found_warnings import (
    PassedByWarning,
    UnreachedWarning,
    WasteWarning,
)
from planning.engine.ordering.explain.order_comparison import wasted_costs
from planning.engine.ordering.explain.reasons import Shortages
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector
from planning.engine.ordering.pricing.tasks import Task, follow
from planning.engine.plan import Demand, Purchasing, ShortfallKind
from planning.engine.shelves.supplies import window_days


def unreached_warnings(
    problem: Problem, selection: Selection, selector: Selector
) -> list[UnreachedWarning]:
    """Return every item that is short though a delivery could help."""
    found = []
    for number, task in enumerate(problem.tasks):
        bought = selector.bought_base(selection.counts, task)
        if selector.is_enough(number, bought):
            continue
        amounts = [bought.get(offer.delivery, 0.0) for offer in task.offers]
        kind, on = _what(problem, Shortages(task, follow(task, amounts)))
        suppliers = _unreached(problem, task)
        found.append(UnreachedWarning(task.node, kind, on, suppliers))
    return found


def _what(problem: Problem, short: Shortages) -> tuple[ShortfallKind, date]:
    days = window_days(problem.window)
    if short.out.any():
        return ShortfallKind.OUT, days[int(np.argmax(short.out))]
    if short.low.any():
        return ShortfallKind.BELOW_SAFETY, days[int(np.argmax(short.low))]
    return ShortfallKind.BELOW_PAR, days[int(np.argmax(short.below_par))]


def _unreached(problem: Problem, task: Task) -> tuple[int, ...]:
    """Return who sells an item, if all of them ask for a minimum order."""
    suppliers = problem.kitchen.suppliers
    places = {problem.trucks[offer.delivery].supplier for offer in task.offers}
    is_asked = all(suppliers[place].minimum_order for place in places)
    return tuple(sorted(places)) if is_asked else ()


def passed_by_warnings(problem: Problem, selection: Selection) -> list[PassedByWarning]:
    """Return every supplier left out for its minimum order.

    Such a one would be cheaper for something, but would not come to its minimum order
    with all that it sells of what is bought.
    """
    kitchen = problem.kitchen
    used = {problem.trucks[truck].supplier for truck, _ in selection.counts}
    coming = {truck.supplier for truck in problem.trucks}
    bought = _bought(problem, selection)
    found = []
    for place in sorted(coming - used):
        supplier = kitchen.suppliers[place]
        mine = _cheapest_packs(kitchen, place)
        goods = sum(
            (
                line_cost(mine[node], _packs(mine[node], bought[node].amount_base))
                for node in mine.keys() & bought.keys()
            ),
            NOTHING,
        )
        cheaper = [
            node
            for node in mine.keys() & bought.keys()
            if price_per_base(mine[node]) < bought[node].price
        ]
        if cheaper and goods < supplier.minimum_order:
            cheaper.sort(key=lambda node: kitchen.nodes.names[node].casefold())
            found.append(PassedByWarning(place, tuple(cheaper), goods))
    return found


@dataclass(frozen=True, slots=True)
class _Bought:
    """How much of an item is bought, and its lowest price of a base unit."""

    amount_base: float
    price: Decimal


def _bought(problem: Problem, selection: Selection) -> dict[int, _Bought]:
    """Return what is bought, by node."""
    found: dict[int, _Bought] = {}
    for cell, packs in selection.counts.items():
        pack = problem.pack(cell)
        price = pack.price_at(packs) / Decimal(repr(pack.size_base))
        known = found.get(pack.node, _Bought(0.0, price))
        amount_base = known.amount_base + packs * pack.size_base
        found[pack.node] = _Bought(amount_base, min(known.price, price))
    return found


def _cheapest_packs(kitchen: Kitchen, supplier: int) -> dict[int, PackTerms]:
    """Return a supplier's cheapest pack for what it holds, by node."""
    found: dict[int, PackTerms] = {}
    for pack in kitchen.packs:
        if pack.supplier == supplier:
            known = found.get(pack.node, pack)
            found[pack.node] = min(known, pack, key=price_per_base)
    return found


def _packs(pack: PackTerms, amount_base: float) -> int:
    return sellable(pack, packs_for(pack, amount_base))


def waste_warnings(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    purchasing: Purchasing,
) -> tuple[WasteWarning, ...]:
    """Return a warning where more than half of the goods are bought for nothing."""
    goods = purchasing.goods_cost
    [wasted] = wasted_costs(kitchen, window, demand, deliveries, [purchasing])
    if 2 * wasted <= goods:
        return ()
    # What somebody has decided on is not bought by hand as well.
    is_decided = bool(coming_lines(kitchen, deliveries))
    return (WasteWarning(goods, wasted, is_decided),)
