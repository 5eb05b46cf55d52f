"""From the bake plan to what is made and bought on each day.

Level by level: what the makings of one level take is the need of the next. Each level
is netted first (made stock, batch steps, wholes and parts), so that nothing below it
is needed for what already lies ready.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from planning.engine.demand.batches import mixes_to_fill
from planning.engine.demand.explosion_warnings import explosion_warnings
from planning.engine.demand.figures import Figures
from planning.engine.demand.level_netting import net_all
from planning.engine.demand.prepared import Prepared, prepare
from planning.engine.demand.tracing import PeggingStep, Trail
from planning.engine.kitchen import IntColumn, Kitchen, NodeKind, Nodes, Window
from planning.engine.plan import Demand, Making
from planning.engine.plan_warnings import DemandWarning


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
