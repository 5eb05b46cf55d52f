"""Netting level by level: made stock, batch steps, wholes and parts.

Only what a level still has to make is passed down, so that nothing below it is needed
for what already lies ready. Things without made stock and batch steps are reckoned
all together; the others one by one.
"""

from collections.abc import Iterable

import numpy as np

from planning.engine.demand.bill import NO_TAKER
from planning.engine.demand.capping import NO_CAPS, Caps, is_capped, use_by_caps
from planning.engine.demand.figures import Figures
from planning.engine.demand.netting import (
    FOR_EVER,
    MadeStock,
    Part,
    RecipeTerms,
    net_needs,
    split_wholes,
)
from planning.engine.demand.planned import cake_takes
from planning.engine.demand.prepared import (
    MadeGroup,
    Prepared,
    part_yields_base,
    take_down,
    whole_batches,
)
from planning.engine.kitchen import IntColumn, NodeKind, Nodes

# What lies ready of each node: its last days (after the plan's first) and amounts.
Lots = dict[int, list[tuple[int, float]]]


def net_all(prepared: Prepared) -> Figures:
    """Return everything that is needed, made and left over, node by node.

    What caps a use-by is known once all is netted, and is netted again with it until
    nothing changes: each turn settles at least one more day.
    """
    figures = _net_once(prepared, NO_CAPS)
    if not is_capped(prepared):
        return figures
    caps = NO_CAPS
    for _ in range(len(prepared.days)):
        found = use_by_caps(prepared, figures)
        if found == caps:
            break
        caps = found
        figures = _net_once(prepared, caps)
    return figures


def _net_once(prepared: Prepared, caps: Caps) -> Figures:
    figures = Figures.empty(prepared.shape, prepared.takes_shape)
    stock = made_stock(prepared)
    net_cakes(prepared, figures, stock)
    levels = zip(prepared.bill.levels, prepared.made_groups, strict=True)
    for level, groups in levels:
        net_level(prepared, figures, level.wholes, groups, stock, caps)
        take_down(level, figures.takes, figures.needed_base)
        figures.pass_lateness_down(level)
    return figures


def net_level(
    prepared: Prepared,
    figures: Figures,
    wholes: IntColumn,
    groups: Iterable[MadeGroup],
    stock: Lots,
    caps: Caps = NO_CAPS,
) -> None:
    """Net the wholes and the made things of one level, or some of them."""
    for whole in wholes.tolist():
        _net_whole(prepared, figures, whole, stock)
    for group in groups:
        _net_group(prepared, figures, group, stock, caps)


def made_stock(prepared: Prepared) -> Lots:
    """Return what lies ready of everything that is not bought, by node."""
    lots, nodes = prepared.kitchen.lots, prepared.kitchen.nodes
    first = prepared.window.from_on.toordinal()
    ready = (nodes.kind[lots.node] != NodeKind.BOUGHT) & (lots.amount_base > 0)
    stock: Lots = {}
    for lot in np.flatnonzero(ready).tolist():
        use_by = lots.use_by[lot]
        last_day = FOR_EVER if use_by is None else use_by.toordinal() - first
        amount_base = float(lots.amount_base[lot])
        stock.setdefault(int(lots.node[lot]), []).append((last_day, amount_base))
    return stock


def net_cakes(prepared: Prepared, figures: Figures, stock: Lots) -> None:
    """Put the planned cakes on their making days; finished cakes serve base sizes."""
    planned = prepared.planned
    quantity = planned.quantity
    for cake in stock.keys() & set(planned.cake.tolist()):
        rows = np.flatnonzero((planned.cake == cake) & planned.is_base_size)
        quantity = quantity.copy()
        ready = MadeStock(stock[cake])
        for due in np.unique(planned.due[rows]).tolist():
            same_day = rows[planned.due[rows] == due]
            wanted = float(quantity[same_day].sum())
            quantity[same_day] *= ready.serve(wanted, due) / wanted
    figures.cakes_to_make = quantity
    np.add.at(
        figures.needed_base, (planned.cake, prepared.due_column), planned.quantity
    )
    np.add.at(figures.net_base, (planned.cake, prepared.due_column), quantity)
    np.add.at(figures.batches, (planned.cake, prepared.made_column), quantity)
    figures.takes += cake_takes(
        planned, prepared.bill, prepared.made_column, quantity, prepared.takes_shape
    )
    _mark_late_cakes(prepared, figures)


def _mark_late_cakes(prepared: Prepared, figures: Figures) -> None:
    planned = prepared.planned
    late = np.flatnonzero((prepared.days_late > 0) & (figures.cakes_to_make > 0))
    cakes = planned.cake[late]
    figures.is_late[cakes] = True
    np.maximum.at(figures.days_late, cakes, prepared.days_late[late])
    takers = prepared.bill.taker_by_scale[:, cakes]
    is_taking = (takers != NO_TAKER) & (planned.factor[:, late] > 0)
    figures.is_taker_late[takers[is_taking]] = True


def _net_whole(
    prepared: Prepared,
    figures: Figures,
    whole: int,
    stock: Lots,
) -> None:
    nodes, parts = prepared.kitchen.nodes, prepared.parts_of[whole]
    needed_base = figures.needed_base[parts]
    yields_base = part_yields_base(nodes, parts, figures.needed_base).tolist()
    split = split_wholes(
        needed_base,
        prepared.days.after_from,
        [
            Part(
                yields_base=one_whole_base,
                keeps_days=int(nodes.keeps_days[part]),
                stock=MadeStock(stock.get(part, ())),
            )
            for part, one_whole_base in zip(parts.tolist(), yields_base, strict=True)
        ],
    )
    figures.needed_base[whole] += split.wholes_each
    figures.net_base[parts] = split.net_base
    figures.surplus_base[parts] = split.unused_base
    late_parts = figures.is_need_late[parts] & (split.net_base[:, 0] > 0)
    figures.is_need_late[whole] |= late_parts.any()


def _net_group(
    prepared: Prepared,
    figures: Figures,
    group: MadeGroup,
    stock: Lots,
    caps: Caps,
) -> None:
    nodes = prepared.kitchen.nodes
    needed_base = figures.needed_base[group.nodes]
    figures.net_base[group.nodes] = needed_base
    figures.batches[group.nodes] = whole_batches(nodes, group, needed_base)
    has_stock = np.array(
        [node in stock for node in group.nodes.tolist()], dtype=np.bool_
    )
    is_netted = (nodes.batch_step[group.nodes] > 0) | has_stock
    is_netted &= (needed_base > 0).any(axis=1)
    for place in np.flatnonzero(is_netted).tolist():
        node = int(group.nodes[place])
        ready = MadeStock(stock.get(node, ()))
        _net_made(prepared, figures, group, _terms(nodes, node, caps), node, ready)
    has_taker = group.takers != NO_TAKER
    figures.takes[group.takers[has_taker]] = figures.batches[group.nodes[has_taker]]
    figures.mark_late(group.nodes, group.days.days_late)
    figures.is_taker_late[group.takers[has_taker]] = figures.is_late[
        group.nodes[has_taker]
    ]


def _net_made(
    prepared: Prepared,
    figures: Figures,
    group: MadeGroup,
    terms: RecipeTerms,
    node: int,
    stock: MadeStock,
) -> None:
    after_from = prepared.days.after_from
    columns = np.flatnonzero(figures.needed_base[node] > 0)
    made_columns = group.days.column[columns]
    netted = net_needs(
        list(
            zip(
                after_from[columns].tolist(),
                after_from[made_columns].tolist(),
                figures.needed_base[node, columns].tolist(),
                strict=True,
            )
        ),
        terms,
        stock,
    )
    figures.net_base[node, columns] = netted.net_base
    figures.batches[node] = 0.0
    if netted.making:
        made_on, batches, surplus_base = zip(*netted.making, strict=True)
        making_columns = np.searchsorted(after_from, made_on)
        figures.batches[node, making_columns] = batches
        figures.surplus_base[node, making_columns] = surplus_base


def _terms(nodes: Nodes, node: int, caps: Caps) -> RecipeTerms:
    return RecipeTerms(
        net_yield_base=float(nodes.net_yield_base(node)),
        batch_step=float(nodes.batch_step[node]),
        keeps_days=int(nodes.keeps_days[node]),
        capped=caps.get(node, {}),
    )
