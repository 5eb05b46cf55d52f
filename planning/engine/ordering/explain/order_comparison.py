"""Two ways of buying for one plan, side by side: what is left over, what is wasted.

What is left over is valued as the search for better orders values it: by what it will
still save, whoever bought it. What goes out of date is valued at what was paid.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import FloatColumn, Kitchen, Window
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.problems import Problem, read_problem
from planning.engine.ordering.instance.selections import Selector
from planning.engine.ordering.instance.wishes import NO_WISHES
from planning.engine.plan import Demand, Purchasing
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD
from planning.engine.shelves.projection import used_by_day
from planning.engine.shelves.supplies import (
    NEVER,
    Supplies,
    bought_supplies,
    join,
    read_shelf,
)
from stock.wording.money_words import CENT


def left_worths(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    ways: Sequence[Purchasing],
) -> tuple[Decimal, ...]:
    """Return what is left over at the end of the plan, by way of buying, in money."""
    problem = read_problem(kitchen, window, demand, deliveries, NO_WISHES)
    selector = Selector(problem)
    return tuple(
        Decimal(selector.of_counts(counts_of(problem, way)).worth).quantize(CENT)
        for way in ways
    )


def counts_of(problem: Problem, way: Purchasing) -> dict[Cell, int]:
    """Return the packs of some orders by a problem's deliveries."""
    place_of = {pack.pack_id: place for place, pack in enumerate(problem.kitchen.packs)}
    truck_of = {truck.key: number for number, truck in enumerate(problem.trucks)}
    return {
        (truck_of[order.delivery_key], place_of[line.pack.pack_id]): (line.packs)
        for order in way.orders
        for line in order.lines
    }


@dataclass(slots=True)
class _Lot:
    """An amount that is on the shelf or comes, days from 0."""

    left_base: float
    usable: int
    use_by: int
    price_per_base: float  # paid for it in the orders looked at; 0 for what was there


def wasted_costs(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    ways: Sequence[Purchasing],
) -> tuple[Decimal, ...]:
    """Return what was paid, each way, for what its orders bring to go out of date.

    That is what nothing uses by its last day: in the plan, or in the four weeks after
    it at the plan's own average use. What was there or on order before is not counted.
    """
    shelf = read_shelf(kitchen, window)
    used_base = used_by_day(shelf, window, demand)
    truck_of = {truck.key: truck for truck in deliveries}
    found = []
    for way in ways:
        lines = [
            (line, truck_of[order.delivery_key])
            for order in way.orders
            for line in order.lines
        ]
        brought = bought_supplies(
            kitchen,
            window,
            shelf,
            [(line.pack, line.packs, truck) for line, truck in lines],
        )
        costs = np.array([float(line.line_cost) for line, _ in lines])
        prices = np.concatenate(
            [np.zeros(len(shelf.supplies.row)), costs / brought.amount_base]
        )
        cost = _wasted_cost(join(shelf.supplies, brought), prices, used_base)
        found.append(Decimal(cost).quantize(CENT))
    return tuple(found)


def _wasted_cost(
    supplies: Supplies, prices: FloatColumn, used_base: FloatColumn
) -> float:
    is_perishable = (prices > 0) & (supplies.use_by < NEVER)
    cost = 0.0
    for row in np.unique(supplies.row[is_perishable]).tolist():
        mine = np.flatnonzero(supplies.row == row)
        lots = [
            _Lot(
                float(supplies.amount_base[place]),
                int(supplies.usable[place]),
                int(supplies.use_by[place]),
                float(prices[place]),
            )
            for place in mine[np.argsort(supplies.use_by[mine], kind="stable")].tolist()
        ]
        cost += _wasted_of_item(lots, used_base[:, row])
    return cost


def _wasted_of_item(lots: Sequence[_Lot], used_base: FloatColumn) -> float:
    """Return the price of what is not used in time; lots the earliest use-by first."""
    days = len(used_base)
    average_base = float(used_base.mean())
    owed_base = sum(max(-lot.left_base, 0.0) for lot in lots)
    for day in range(days + MOST_DAYS_AHEAD):
        owed_base += float(used_base[day]) if day < days else average_base
        for lot in lots:
            if lot.usable <= day <= lot.use_by and lot.left_base > 0:
                taken_base = min(lot.left_base, owed_base)
                lot.left_base -= taken_base
                owed_base -= taken_base
    return sum(
        lot.left_base * lot.price_per_base
        for lot in lots
        if lot.left_base > 0 and lot.use_by < days + MOST_DAYS_AHEAD - 1
    )
