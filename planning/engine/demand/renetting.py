"""Netting again only what one cake reaches, after the bake plan has changed by it.

What a cake is made of, down to the shelf, is netted anew from the needs of everything
that takes it; the rest of the plan's figures stands. The sums are added up in the same
order as in a whole plan, so that they come to the same figures, bit by bit.
"""

from collections.abc import Iterator

import numpy as np
from scipy.sparse import csc_array

from planning.engine.demand.bill import Bill, BillLevel
from planning.engine.demand.figures import Figures
from planning.engine.demand.level_netting import made_stock, net_cakes, net_level
from planning.engine.demand.prepared import MadeGroup, Prepared
from planning.engine.kitchen import (
    NO_NODE,
    BoolColumn,
    FloatColumn,
    NodeKind,
    Nodes,
)


def reached_by(bill: Bill, nodes: Nodes, cake: int) -> BoolColumn:
    """Return whether each node is part of a cake: itself, and all the way down.

    Of a whole all parts count: what one leaves over serves another.
    """
    parts = np.flatnonzero(nodes.whole != NO_NODE)
    wholes = nodes.whole[parts]
    parents = np.concatenate([bill.taker_node[bill.line_taker], parts, wholes])
    children = np.concatenate([bill.line_component, wholes, parts])
    reached = np.zeros(len(nodes.names), dtype=np.bool_)
    reached[cake] = True
    while True:
        found = children[reached[parents] & ~reached[children]]
        if not found.size:
            return reached
        reached[found] = True


def net_again(
    prepared: Prepared, before: Prepared, figures: Figures, reached: BoolColumn
) -> Figures:
    """Return the figures of a plan whose cakes are not those of `before` any more.

    `reached` says which nodes may have changed; cakes may have all. `prepared` and
    `before` have the same recipes.
    """
    again = _moved(figures, before, prepared)
    nodes, bill = prepared.kitchen.nodes, prepared.bill
    is_open = reached | (nodes.kind == NodeKind.CAKE)
    _empty(again, is_open, is_open[bill.taker_node])
    stock = made_stock(prepared)
    net_cakes(prepared, again, stock)
    levels = zip(bill.levels, prepared.made_groups, strict=True)
    for level, groups in levels:
        wholes = level.wholes[reached[level.wholes]]
        net_level(prepared, again, wholes, _among(groups, reached), stock)
        _take_down_to(reached, level, again)
        again.pass_lateness_down(level)
    return again


def _empty(figures: Figures, nodes: BoolColumn, takers: BoolColumn) -> None:
    for by_day in (
        figures.needed_base,
        figures.net_base,
        figures.batches,
        figures.surplus_base,
    ):
        by_day[nodes] = 0.0
    figures.takes[takers] = 0.0
    figures.is_need_late[nodes] = False
    figures.is_late[nodes] = False
    figures.days_late[nodes] = 0
    figures.is_taker_late[takers] = False


def _among(groups: tuple[MadeGroup, ...], chosen: BoolColumn) -> Iterator[MadeGroup]:
    """Yield groups with only the chosen nodes left in them."""
    for group in groups:
        kept = chosen[group.nodes]
        if kept.any():
            yield MadeGroup(
                group.nodes[kept],
                group.takers[kept],
                group.net_per_batch_base[kept],
                group.days,
            )


def _take_down_to(chosen: BoolColumn, level: BillLevel, figures: Figures) -> None:
    """Add what a level takes to the needs of the chosen nodes only."""
    matrix = level.matrix
    kept = chosen[matrix.indices]
    if not kept.any():
        return
    kept_before = np.concatenate([[0], np.cumsum(kept)])
    part = csc_array(
        (matrix.data[kept], matrix.indices[kept], kept_before[matrix.indptr]),
        shape=matrix.shape,
    )
    figures.needed_base += part @ figures.takes[level.takers]


def _moved(figures: Figures, before: Prepared, after: Prepared) -> Figures:
    """Return a copy of figures whose columns are the days of another plan.

    A day that the other plan does not have is one on which nothing falls.
    """
    days = before.days.after_from
    columns = np.minimum(after.days.columns(days), len(after.days) - 1)
    is_kept = after.days.after_from[columns] == days

    def moved(by_day: FloatColumn) -> FloatColumn:
        copy = np.zeros((len(by_day), len(after.days)))
        copy[:, columns[is_kept]] = by_day[:, is_kept]
        return copy

    return Figures(
        needed_base=moved(figures.needed_base),
        net_base=moved(figures.net_base),
        batches=moved(figures.batches),
        surplus_base=moved(figures.surplus_base),
        takes=moved(figures.takes),
        cakes_to_make=figures.cakes_to_make,
        is_need_late=figures.is_need_late.copy(),
        is_late=figures.is_late.copy(),
        is_taker_late=figures.is_taker_late.copy(),
        days_late=figures.days_late.copy(),
    )
