"""Through which recipes one more cake takes an item.

Amounts are float64 in the item's base unit. Whole batches may make a recipe take less
than before: what was left over for it is made now.
"""

from collections import defaultdict

import numpy as np

from planning.engine.demand.explosion import Explosion
from planning.engine.demand.figures import Figures
from planning.engine.demand.prepared import Prepared
from planning.engine.kitchen import NO_NODE, FloatColumn
from planning.engine.scenarios.one_more import CakeEffect
from planning.engine.shelves.projection import LEAST_LACK_BASE


def more_by_taker(
    explosion: Explosion, effect: CakeEffect, node: int
) -> dict[int, float]:
    """Return how much more of a touched item each taker takes with the cake.

    By recipe or cake, the most first; together they are what the cake takes more.
    What is taken for parts of the item stands under `NO_NODE`.
    """
    bill = effect.prepared.bill
    lines = np.flatnonzero(bill.line_component == node)
    takers = bill.line_taker[lines]
    before = _takes(explosion.prepared, explosion.figures)
    more = _takes(effect.prepared, effect.figures)[takers] - before[takers]
    found: dict[int, float] = defaultdict(float)
    for taker, more_base in zip(
        bill.taker_node[takers].tolist(),
        (bill.line_amount_base[lines] * more).tolist(),
        strict=True,
    ):
        found[taker] += more_base
    extra_base = float(effect.extra_base[list(effect.nodes).index(node)])
    found[NO_NODE] = extra_base - sum(found.values())
    rows = sorted(found.items(), key=lambda row: -row[1])
    return {taker: base for taker, base in rows if abs(base) >= LEAST_LACK_BASE}


def _takes(prepared: Prepared, figures: Figures) -> FloatColumn:
    """Return how many batches or base cakes of each taker the window makes."""
    days = int(np.searchsorted(prepared.days.after_from, prepared.window.days))
    takes: FloatColumn = figures.takes[:, :days].sum(axis=1)
    return takes
