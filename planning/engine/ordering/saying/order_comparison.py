"""Two ways of buying for one plan, side by side: money, deliveries, what is left.

What is left over is valued as the search for better orders values it: by what it will
still save, whoever bought it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from planning.engine.costing import CENT
from planning.engine.deliveries import Delivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.ordering.question.problems import Problem, read_problem
from planning.engine.ordering.question.selections import Cell, Selector
from planning.engine.ordering.question.wishes import NO_WISHES
from planning.engine.plan import Demand, Purchasing


@dataclass(frozen=True, slots=True)
class Bought:
    """What one way of buying comes to."""

    total: Decimal  # goods and fees
    fees: Decimal
    deliveries: int
    left_worth: Decimal  # of what is over at the end of the plan


def bought(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[Delivery],
    ways: Sequence[Purchasing],
) -> tuple[Bought, ...]:
    """Return what each of some ways of buying comes to."""
    problem = read_problem(kitchen, window, demand, deliveries, NO_WISHES)
    selector = Selector(problem)
    return tuple(
        Bought(
            total=way.total_cost,
            fees=way.fees,
            deliveries=len(way.orders),
            left_worth=Decimal(
                selector.of_counts(counts_of(problem, way)).worth
            ).quantize(CENT),
        )
        for way in ways
    )


def counts_of(problem: Problem, way: Purchasing) -> dict[Cell, int]:
    """Return the packs of some orders by a problem's deliveries."""
    place_of = {pack.pack_id: place for place, pack in enumerate(problem.kitchen.packs)}
    truck_of = {
        (truck.supplier, truck.deliver_on): number
        for number, truck in enumerate(problem.trucks)
    }
    return {
        (truck_of[order.supplier, order.deliver_on], place_of[line.pack.pack_id]): (
            line.packs
        )
        for order in way.orders
        for line in order.lines
    }
