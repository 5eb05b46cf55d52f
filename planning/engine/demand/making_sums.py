"""How much of something is made on a day: what is needed, less what lies ready.

Amounts are float64 in the base unit of what is made.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np

from planning.engine.demand.explosion import Explosion


@dataclass(frozen=True, slots=True)
class MakingSum:
    """The lines of a making: `ready_base` is taken off, the others are `made_base`."""

    needed_base: float  # by all that this making is there for
    ready_base: float  # of it, what made stock serves
    lost_base: float
    left_over_base: float  # of whole batches, for later days
    made_base: float


def making_sum(explosion: Explosion, node: int, on: date) -> MakingSum:
    """Return how the amount of a making comes about; of a cake: their numbers."""
    prepared, figures = explosion.prepared, explosion.figures
    nodes, column = prepared.kitchen.nodes, prepared.days.column_of(on)
    made_columns = prepared.making_days[int(nodes.lead_days[node])].column
    is_for = (made_columns == column) & (figures.net_base[node] > 0)
    days = np.flatnonzero(is_for)
    needed_base = float(figures.needed_base[node, days].sum())
    net_base = float(figures.net_base[node, days].sum())
    made_base = float(figures.batches[node, column] * nodes.yield_base[node])
    lost_base = made_base * float(nodes.loss_fraction[node])
    return MakingSum(
        needed_base=needed_base,
        ready_base=needed_base - net_base,
        lost_base=lost_base,
        left_over_base=made_base - lost_base - net_base,
        made_base=made_base,
    )
