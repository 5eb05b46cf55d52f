"""What tests of mending by either way of buying share."""

from planning.engine.ordering.best_orders import best_orders
from planning.engine.ordering.column_generation.efforts import QUICK
from tests.engine import shelves

LEAST_LACK = 0.001


def by_the_search(*asked):
    return best_orders(*asked, effort=QUICK)


def cream(lots, *, keeps=2, suppliers=None, packs=None, **item):
    return shelves.kitchen(
        shelves.items({"name": "cream", "keeps": keeps, **item}),
        lots=[(0, amount, use_by) for amount, use_by in lots],
        suppliers=suppliers or [shelves.supplier("Dairy", days=(0,), cutoff_days=0)],
        packs=packs or [shelves.pack(0, 10, 5)],
    )
