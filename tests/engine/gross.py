"""What cakes take with nothing netted, for comparison with a plan."""

import numpy as np

from planning.engine.demand.bill import NO_TAKER
from planning.engine.demand.planned import cake_takes
from planning.engine.demand.prepared import (
    part_yields_base,
    take_down,
    whole_batches,
)


def gross_needs(prepared):
    """Return what is needed of every node by day, node x day, nothing netted.

    Loss, yields, lead times and closed days count; made stock, batch steps and what
    is left over of wholes do not.
    """
    planned = prepared.planned
    takes = cake_takes(
        planned,
        prepared.bill,
        prepared.made_column,
        planned.quantity,
        prepared.takes_shape,
    )
    needed_base = sweep(prepared, takes)
    np.add.at(needed_base, (planned.cake, prepared.due_column), planned.quantity)
    return needed_base


def sweep(prepared, takes):
    """Return gross needs below the cakes by node and day.

    `takes` holds the cakes and is filled with the rest.
    """
    nodes = prepared.kitchen.nodes
    needed_base = np.zeros(prepared.shape)
    levels = zip(prepared.bill.levels, prepared.made_groups, strict=True)
    for level, groups in levels:
        for whole in level.wholes.tolist():
            parts = prepared.parts_of[whole]
            yields_base = part_yields_base(nodes, parts, needed_base)
            needed_base[whole] += most_wholes(needed_base[parts], yields_base)
        for group in groups:
            made = whole_batches(nodes, group, needed_base[group.nodes])
            takes[group.takers[group.takers != NO_TAKER]] = made[
                group.takers != NO_TAKER
            ]
        take_down(level, takes, needed_base)
    return needed_base


def most_wholes(needed_base, yields_base):
    """Return the wholes that parts need by day when nothing is left from other days."""
    return (needed_base / yields_base[:, np.newaxis]).max(axis=0)
