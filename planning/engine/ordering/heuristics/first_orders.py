"""The first orders of a search: every item buys as if fees were shared.

A construction heuristic; the schedules that it finds are columns of the master too.
"""

from collections.abc import Sequence

import numpy as np

from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.items import ItemPricer
from planning.engine.ordering.pricing.tasks import Choice


def find_first_orders(search: BestSoFar) -> None:
    """Find a first choice; deliveries too small are closed one after the other."""
    prices = _guessed_prices(search.problem)
    choices = []
    for pricer in search.pricers:
        search.check()
        choices.append(pricer.cheapest(prices).choice or _most(pricer))
    search.master.add([search.column(*pair) for pair in enumerate(choices)])
    for _ in range(len(search.problem.trucks)):
        search.check()
        small = _too_small(search, choices, prices)
        if small is None:
            break
        _close(search, choices, prices, small)
    search.offer_choices(choices)
    search.respond()


def _close(
    search: BestSoFar, choices: list[Choice], prices: Prices, truck: int
) -> None:
    """Let items buy elsewhere; a delivery that one needs stays, and free of charge."""
    prices.is_closed[truck] = True
    for number, pricer in enumerate(search.pricers):
        if truck in search.column(number, choices[number]).trucks:
            search.check()
            choice = pricer.cheapest(prices).choice
            if choice is None:  # nobody else can bring it
                prices.is_closed[truck] = False
                prices.charge[truck] = 0.0
                return
            choices[number] = choice


def _too_small(
    search: BestSoFar, choices: Sequence[Choice], prices: Prices
) -> int | None:
    """Return the delivery that is furthest from being worth its while."""
    goods = np.zeros(len(search.problem.trucks))
    for number, choice in enumerate(choices):
        column = search.column(number, choice)
        goods[list(column.trucks)] += column.goods
    lacks = [
        (goods[truck] / terms.minimum, truck)
        for truck, terms in enumerate(search.problem.terms)
        if 0 < goods[truck] < terms.minimum and prices.charge[truck]
    ]
    return min(lacks)[1] if lacks else None


def _most(pricer: ItemPricer) -> Choice:
    return tuple(int(np.argmax(offer.amount_base)) for offer in pricer.task.offers)


def _guessed_prices(problem: Problem) -> Prices:
    """Return prices at which a delivery's fee is shared by a quarter of its items."""
    prices = Prices.plain(len(problem.trucks))
    items = np.zeros(len(problem.trucks))
    for task in problem.tasks:
        for offer in task.offers:
            items[offer.delivery] += 1
    for truck, terms in enumerate(problem.terms):
        shared = terms.fee / max(1.0, items[truck] / 4)
        prices.charge[truck] = max(shared, 1e-6)
    return prices
