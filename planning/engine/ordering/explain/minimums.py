"""What minimum orders keep from being bought, and what is done instead.

An item's name may be one or many (flour, egg whites), so no verb that has a plural
stands behind it.
"""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from planning.engine.costing import NOTHING, line_cost, price_per_base
from planning.engine.kitchen import Kitchen, PackTerms
from planning.engine.ordering.explain.shortages import Shortages
from planning.engine.ordering.instance.options import packs_for, sellable
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector
from planning.engine.ordering.pricing.tasks import Task, follow
from planning.engine.plan import ShortfallKind
from planning.engine.shelves.supplies import window_days
from planning.engine.words import capitalized, day_words, listed
from stock.wording.money_words import money_words

MOST_NAMED = 3


def unreached_warnings(
    problem: Problem, selection: Selection, selector: Selector
) -> list[str]:
    """Return a sentence for every item that is short though a delivery could help."""
    found = []
    for number, task in enumerate(problem.tasks):
        bought = selector.bought_base(selection.counts, task)
        if selector.is_enough(number, bought):
            continue
        amounts = [bought.get(offer.delivery, 0.0) for offer in task.offers]
        what = _what(problem, Shortages(task, follow(task, amounts)))
        name = capitalized(problem.kitchen.nodes.names[task.node])
        found.append(f"{name}: {what} with these orders. {_why(problem, task)}")
    return found


def _what(problem: Problem, short: Shortages) -> str:
    days = window_days(problem.window)
    if short.out.any():
        return f"{ShortfallKind.OUT} on {day_words(days[int(np.argmax(short.out))])}"
    if short.low.any():
        first = days[int(np.argmax(short.low))]
        return f"{ShortfallKind.BELOW_SAFETY} on {day_words(first)}"
    first = days[int(np.argmax(short.below_par))]
    return f"{ShortfallKind.BELOW_PAR} on {day_words(first)}"


def _why(problem: Problem, task: Task) -> str:
    kitchen = problem.kitchen
    places = {problem.trucks[offer.delivery].supplier for offer in task.offers}
    suppliers = [kitchen.suppliers[place] for place in sorted(places)]
    if not all(supplier.minimum_order for supplier in suppliers):
        return "The search ended before it found orders that help."
    asked = [
        f"{supplier.name} from "
        f"{money_words(supplier.minimum_order, kitchen.bakery.currency)} on"
        for supplier in suppliers
    ]
    return (
        f"Sold by {listed(asked, MOST_NAMED)}, which is not reached. Add something "
        "to the order, or buy elsewhere."
    )


def passed_by_warnings(problem: Problem, selection: Selection) -> list[str]:
    """Return a sentence for every supplier left out for its minimum order.

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
            kitchen.nodes.names[node]
            for node in mine.keys() & bought.keys()
            if price_per_base(mine[node]) < bought[node].price
        ]
        if cheaper and goods < supplier.minimum_order:
            currency = kitchen.bakery.currency
            names = sorted(cheaper, key=str.casefold)
            found.append(
                f"{supplier.name}: cheaper for {listed(names, MOST_NAMED)}, but all "
                f"that it could bring comes to {money_words(goods, currency)}, under "
                "its minimum order of "
                f"{money_words(supplier.minimum_order, currency)}. Bought elsewhere."
            )
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
