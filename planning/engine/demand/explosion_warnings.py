"""What an explosion warns of."""

from collections.abc import Iterator

import numpy as np

from planning.engine.demand.figures import Figures
from planning.engine.demand.prepared import Prepared
from planning.engine.kitchen import NO_LIMIT_DAYS, NO_NODE, NodeKind
from planning.engine.plan_warnings import (
    DemandWarning,
    MadeLate,
    MadeTooEarly,
    NoUseBy,
    OverdueCake,
    PartLeftOver,
    RetiredNeeded,
)

# Less is not worth a note: 3 g of a lemon's zest.
LEAST_LEFT_OVER_WHOLES = 0.1


def explosion_warnings(
    prepared: Prepared, figures: Figures
) -> tuple[DemandWarning, ...]:
    """Return everything a baker should know about an explosion."""
    return (
        *_overdue(prepared),
        *_late(prepared, figures),
        *_past_keeping(prepared, figures),
        *_without_use_by(prepared),
        *_left_over(prepared, figures),
        *_retired(prepared, figures),
    )


def _overdue(prepared: Prepared) -> Iterator[OverdueCake]:
    cakes = prepared.kitchen.cakes
    for row in prepared.planned.overdue.tolist():
        yield OverdueCake(
            cakes.references[row], int(cakes.cake[row]), cakes.due_on[row]
        )


def _late(prepared: Prepared, figures: Figures) -> Iterator[MadeLate]:
    is_late = figures.is_late & (figures.days_late > 0)
    for node in np.flatnonzero(is_late).tolist():
        yield MadeLate(node, int(figures.days_late[node]), prepared.window.from_on)


def _past_keeping(prepared: Prepared, figures: Figures) -> Iterator[MadeTooEarly]:
    """Warn of what is made for a need earlier than it keeps, once a recipe."""
    nodes, days = prepared.kitchen.nodes, prepared.days
    for groups in prepared.made_groups:
        for group in groups:
            waits = days.after_from - days.after_from[group.days.column]
            in_window = days.after_from[group.days.column] < prepared.window.days
            keeps_days = nodes.keeps_days[group.nodes]
            is_limited = keeps_days != NO_LIMIT_DAYS
            if not (is_limited & (keeps_days <= waits.max(initial=0))).any():
                continue
            waits_too_long = waits >= keeps_days[:, np.newaxis]
            waits_too_long &= is_limited[:, np.newaxis] & in_window
            waits_too_long &= figures.net_base[group.nodes] > 0
            for place in np.flatnonzero(waits_too_long.any(axis=1)).tolist():
                column = int(np.argmax(waits_too_long[place]))
                yield MadeTooEarly(
                    int(group.nodes[place]),
                    made_on=days.on(int(group.days.column[column])),
                    needed_on=days.on(column),
                    keeps_days=int(keeps_days[place]),
                )


def _without_use_by(prepared: Prepared) -> Iterator[NoUseBy]:
    lots, nodes = prepared.kitchen.lots, prepared.kitchen.nodes
    is_made = np.isin(nodes.kind[lots.node], (NodeKind.MADE, NodeKind.CAKE))
    is_made &= lots.amount_base > 0
    found = {
        int(lots.node[lot])
        for lot in np.flatnonzero(is_made).tolist()
        if lots.use_by[lot] is None
    }
    yield from map(NoUseBy, sorted(found))


def _left_over(prepared: Prepared, figures: Figures) -> Iterator[PartLeftOver]:
    """Tell of each part what no later day uses in date, however far ahead."""
    nodes, days = prepared.kitchen.nodes, prepared.days
    parts = np.flatnonzero(nodes.whole != NO_NODE)
    in_window = days.after_from < prepared.window.days
    unused_base = figures.surplus_base[parts][:, in_window]
    least_base = nodes.part_yields_base[parts] * LEAST_LEFT_OVER_WHOLES
    is_told = (unused_base > 0) & (unused_base >= least_base[:, np.newaxis])
    for place, column in np.argwhere(is_told).tolist():
        yield PartLeftOver(
            int(parts[place]), days.on(column), float(unused_base[place, column])
        )


def _retired(prepared: Prepared, figures: Figures) -> Iterator[RetiredNeeded]:
    """Warn of what recipes still take although nobody looks after it any more."""
    nodes, days = prepared.kitchen.nodes, prepared.days
    retired = np.flatnonzero(nodes.retired & (nodes.kind != NodeKind.PART))
    in_window = days.after_from < prepared.window.days
    is_needed = figures.needed_base[retired][:, in_window] > 0
    for place in np.flatnonzero(is_needed.any(axis=1)).tolist():
        node = int(retired[place])
        first = days.on(int(np.argmax(is_needed[place])))
        yield RetiredNeeded(node, NodeKind(int(nodes.kind[node])), first)
