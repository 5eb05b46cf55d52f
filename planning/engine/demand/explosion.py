"""From the bake plan to what is made and bought on each day.

Level by level: what the makings of one level take is the need of the next. Each level
is netted first (made stock, batch steps, wholes and parts), so that nothing below it
is needed for what already lies ready.

What an explosion warns of.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from planning.engine.demand.figures import Figures
from planning.engine.demand.level_netting import net_all
from planning.engine.demand.netting import mixes_to_fill
from planning.engine.demand.prepared import Prepared, prepare
from planning.engine.demand.tracing import PeggingStep, Trail
from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    NO_NODE,
    IntColumn,
    Kitchen,
    NodeKind,
    Nodes,
    Window,
)
from planning.engine.plan import Demand, Making
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


@dataclass(frozen=True)
class Explosion:
    """What the bake plan asks for, day by day, and why."""

    prepared: Prepared
    figures: Figures
    demand: Demand
    warnings: tuple[DemandWarning, ...]

    @cached_property
    def making(self) -> tuple[Making, ...]:
        """What is made in the window, cakes too, sorted by day, then name."""
        return tuple(_makings(self.prepared, self.figures))

    def cakes_behind(self, node: int, days: Collection[date]) -> tuple[str, ...]:
        """Return the references whose net need for a node falls on one of the days.

        Through any level; what made stock serves is nobody's need. Sorted.
        """
        return self._trail.cakes_behind(node, days)

    def reasons(self, node: int, day: date) -> tuple[PeggingStep, ...]:
        """Return what takes a node on a day, and what takes that, up to the cakes.

        The nearest first, each step once.
        """
        return self._trail.reasons(node, day)

    @cached_property
    def _trail(self) -> Trail:
        return Trail(self.prepared, self.figures)


def explode(kitchen: Kitchen, window: Window) -> Explosion:
    """Return what every day of the window asks for.

    Everything due on or after the first day is worked out, however far ahead, and
    then cut to the window. A recipe in itself, a size that cannot be read and a line
    that has nothing to scale with are errors.
    """
    prepared = prepare(kitchen, window)
    figures = net_all(prepared)
    return Explosion(
        prepared=prepared,
        figures=figures,
        demand=_demand(prepared, figures),
        warnings=explosion_warnings(prepared, figures),
    )


def _window_columns(prepared: Prepared) -> int:
    """Return how many of the days fall into the window; they are the first."""
    return int(np.searchsorted(prepared.days.after_from, prepared.window.days))


def _by_name(nodes: Nodes, chosen: IntColumn) -> IntColumn:
    names = nodes.names
    return np.array(
        sorted(chosen.tolist(), key=lambda node: names[node].casefold()),
        dtype=np.int64,
    )


def _demand(prepared: Prepared, figures: Figures) -> Demand:
    nodes = prepared.kitchen.nodes
    bought = _by_name(nodes, np.flatnonzero(nodes.kind == NodeKind.BOUGHT))
    needed_base = figures.needed_base[bought, : _window_columns(prepared)]
    column, place = np.nonzero(needed_base.T > 0)
    node = bought[place]
    return Demand(
        node=node,
        day=prepared.days.after_from[column] + prepared.window.from_on.toordinal(),
        amount_base=needed_base[place, column],
        is_late=(column == 0) & figures.is_need_late[node],
    )


def _makings(prepared: Prepared, figures: Figures) -> Iterator[Making]:
    nodes = prepared.kitchen.nodes
    is_made = (nodes.kind == NodeKind.MADE) | (nodes.kind == NodeKind.CAKE)
    made = _by_name(nodes, np.flatnonzero(is_made))
    batches_by_day = figures.batches[made, : _window_columns(prepared)].T
    column, place = np.nonzero(batches_by_day > 0)
    node = made[place]
    batches = batches_by_day[column, place]
    is_cake = nodes.kind[node] == NodeKind.CAKE
    dates = [prepared.days.on(day) for day in range(_window_columns(prepared))]
    rows = zip(
        node.tolist(),
        column.tolist(),
        batches.tolist(),
        np.where(is_cake, batches, batches * nodes.yield_base[node]).tolist(),
        figures.surplus_base[node, column].tolist(),
        np.where(is_cake, 0.0, nodes.largest_batch[node]).tolist(),
        (figures.is_late[node] & (column == 0)).tolist(),
        strict=True,
    )
    for row, day, made_batches, amount_base, surplus_base, largest, is_late in rows:
        yield Making(
            node=row,
            on=dates[day],
            batches=made_batches,
            amount_base=amount_base,
            surplus_base=surplus_base,
            mixes=mixes_to_fill(made_batches, largest),
            is_late=is_late,
        )
