"""The reasons that lines of found orders carry."""

from planning.engine.deliveries import possible_deliveries
from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from tests.engine import shelves
from tests.engine.ordering.random_kitchens import MON, day
from tests.engine.said import said


def found(kitchen, used, *, days=6, amounts=None, **options):
    window = shelves.window(MON, days)
    orders = best_orders(
        kitchen,
        window,
        shelves.demand(kitchen.nodes, {(n, day(d)): a for (n, d), a in used.items()}),
        possible_deliveries(kitchen, window),
        effort=QUICK,
        **options,
    )
    return said(kitchen, orders, amounts)


def because(kitchen, used, **options):
    """The reasons of each line, by supplier, day and the item's name."""
    names = kitchen.nodes.names
    return {
        (
            kitchen.suppliers[order.supplier].name,
            (order.deliver_on - MON).days,
            names[line.pack.node],
        ): line.because
        for order in found(kitchen, used, **options).orders
        for line in order.lines
    }


def egg_whites(*packs, suppliers, leftover_worth=0.0, lots=(), **item):
    return shelves.kitchen(
        shelves.items({"name": "egg whites", **item}, {"name": "Torte"}),
        suppliers=suppliers,
        cakes=[("A", day(5), 1), ("B", day(4), 1)],
        packs=packs,
        leftover_worth=leftover_worth,
        lots=lots,
    )
