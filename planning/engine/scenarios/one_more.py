"""One more cake on the plan: the shelf before and after it, of the items it touches.

Nothing else of the plan is worked out again: only what the cake is made of is netted,
and only the items of which it takes more or less are projected.

Through which recipes one more cake takes an item.

Amounts are float64 in the item's base unit. Whole batches may make a recipe take less
than before: what was left over for it is made now.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

import numpy as np
import numpy.typing as npt

from planning.engine.demand.capping import is_capped
from planning.engine.demand.explosion import Explosion
from planning.engine.demand.figures import Figures
from planning.engine.demand.level_netting import net_all
from planning.engine.demand.netting import NOISE_FRACTION
from planning.engine.demand.prepared import Prepared, prepare
from planning.engine.demand.renetting import net_again, reached_by
from planning.engine.demand.tracing import Trail
from planning.engine.kitchen import (
    NO_NODE,
    BoolColumn,
    FloatColumn,
    IntColumn,
    Kitchen,
    NodeKind,
    PlannedCakes,
    Window,
)
from planning.engine.plan import Projection
from planning.engine.shelves.projection import LEAST_LACK_BASE, shelf_days
from planning.engine.shelves.supplies import ShelfRows, Supplies, only_rows, window_days
from planning.errors import DueInThePastError, NoCakesAskedError

NEW_REFERENCE = ""  # no line of the bake plan is without one


@dataclass(frozen=True, slots=True)
class OneMore:
    """A cake that is asked for."""

    cake: int  # node
    size: str  # as typed; "" is the cake's base size
    due_on: date
    quantity: float


@dataclass(frozen=True, slots=True)
class LateMaking:
    """Something that should have been made before the first day."""

    node: int
    days_late: int


@dataclass(frozen=True)
class CakeEffect:
    """What one more cake does to a plan."""

    kitchen: Kitchen  # the cake is in it, by NEW_REFERENCE
    window: Window
    prepared: Prepared
    figures: Figures
    shelf: ShelfRows  # of the touched items only
    used_before_base: npt.NDArray[np.float64]  # a row a day, a column an item
    used_base: npt.NDArray[np.float64]
    late: tuple[LateMaking, ...] = ()

    @property
    def nodes(self) -> Sequence[int]:
        """The touched items, sorted by name."""
        return self.shelf.nodes

    @cached_property
    def extra_base(self) -> FloatColumn:
        """How much more of each touched item the plan takes."""
        extra: FloatColumn = (self.used_base - self.used_before_base).sum(axis=0)
        return extra

    def most_extra(self, node: int) -> tuple[date, float]:
        """Return up to which day most more of an item is used, and how much.

        More than for the whole plan, where what batches leave over is used later.
        """
        row = self.nodes.index(node)
        more_base = np.cumsum(self.used_base[:, row] - self.used_before_base[:, row])
        day = int(np.argmax(more_base > more_base.max() - LEAST_LACK_BASE))
        return window_days(self.window)[day], float(more_base.max())

    def before(self, supplies: Supplies | None = None) -> Projection:
        """Return the days without the cake, with other supplies if they are given."""
        return self._projection(supplies, self.used_before_base)

    def after(self, supplies: Supplies | None = None) -> Projection:
        """Return the days with the cake."""
        return self._projection(supplies, self.used_base)

    def only(self, node: int) -> "CakeEffect":
        """Return the same with one touched item only."""
        row = self.nodes.index(node)
        return replace(
            self,
            shelf=some_rows(self.shelf, (node,)),
            used_before_base=self.used_before_base[:, [row]],
            used_base=self.used_base[:, [row]],
        )

    def last_use_on(self, node: int, until: date) -> date | None:
        """Return the last day up to one on which more of an item is used.

        None where what is used up to then is no more than without the cake.
        """
        row = self.nodes.index(node)
        days = (until - self.window.from_on).days + 1
        more_base = (self.used_base - self.used_before_base)[:days, row]
        used = np.flatnonzero(more_base >= LEAST_LACK_BASE)
        return window_days(self.window)[int(used[-1])] if used.size else None

    def cakes_behind(self, node: int, days: Collection[date]) -> tuple[str, ...]:
        """Return the other cakes whose net need for an item falls on the days."""
        found = self._trail.cakes_behind(node, days)
        return tuple(reference for reference in found if reference != NEW_REFERENCE)

    @cached_property
    def _trail(self) -> Trail:
        return Trail(self.prepared, self.figures)

    def _projection(
        self, supplies: Supplies | None, used_base: npt.NDArray[np.float64]
    ) -> Projection:
        figures = shelf_days(supplies or self.shelf.supplies, used_base)
        return Projection(
            nodes=self.shelf.nodes,
            days=window_days(self.window),
            opening_base=figures.ends_base[:-1].T,
            received_base=figures.received_base.T,
            used_base=used_base.T,
            expired_base=figures.expired_base.T,
            closing_base=figures.ends_base[1:].T,
            outstanding_base=figures.outstanding_base.T,
            is_out=(figures.outstanding_base >= LEAST_LACK_BASE).T,
        )


def add_one_more(
    explosion: Explosion, window: Window, shelf: ShelfRows, one_more: OneMore
) -> CakeEffect:
    """Return what a cake does to the plan that an explosion and a shelf are of.

    A day before the plan's first, or no cake at all, is an error.
    """
    kitchen = with_cake(explosion.prepared.kitchen, window, one_more)
    effect = _changed(explosion, window, shelf, kitchen, one_more.cake)
    late = _late(explosion, effect.prepared, effect.figures, one_more.cake)
    return replace(effect, late=late)


def leave_out(
    explosion: Explosion, window: Window, shelf: ShelfRows, reference: str
) -> CakeEffect:
    """Return what leaving out one line of the bake plan does to the plan."""
    kitchen = explosion.prepared.kitchen
    place = list(kitchen.cakes.references).index(reference)
    quantity = kitchen.cakes.quantity.copy()
    quantity[place] = 0.0  # such a line is not live
    without = replace(kitchen, cakes=replace(kitchen.cakes, quantity=quantity))
    return _changed(explosion, window, shelf, without, int(kitchen.cakes.cake[place]))


def _changed(
    explosion: Explosion, window: Window, shelf: ShelfRows, kitchen: Kitchen, cake: int
) -> CakeEffect:
    """Return the plan of a kitchen in which only lines of one cake are other ones."""
    before = explosion.prepared
    prepared = prepare(kitchen, window, before.bill)
    if is_capped(prepared):  # what one cake takes moves use-bys anywhere
        reached = np.ones(len(kitchen.nodes.names), dtype=np.bool_)
        figures = net_all(prepared)
    else:
        reached = reached_by(before.bill, kitchen.nodes, cake)
        figures = net_again(prepared, before, explosion.figures, reached)
    bought = _reached_rows(shelf, reached)
    used_before_base = _used_by_day(before, explosion.figures, bought)
    used_base = _used_by_day(prepared, figures, bought)
    extra_base = np.abs(used_base - used_before_base)
    is_touched = extra_base.max(axis=0, initial=0.0) >= LEAST_LACK_BASE
    return CakeEffect(
        kitchen=kitchen,
        window=window,
        prepared=prepared,
        figures=figures,
        shelf=some_rows(shelf, bought[is_touched].tolist()),
        used_before_base=used_before_base[:, is_touched],
        used_base=used_base[:, is_touched],
    )


def more_of_retired(explosion: Explosion, effect: CakeEffect) -> tuple[int, ...]:
    """Return the bought items that a cake takes more of though they are retired."""
    nodes = effect.kitchen.nodes
    retired = np.flatnonzero(nodes.retired & (nodes.kind == NodeKind.BOUGHT))
    before_base = explosion.figures.needed_base[retired].sum(axis=1)
    more_base = effect.figures.needed_base[retired].sum(axis=1) - before_base
    return tuple(retired[more_base >= LEAST_LACK_BASE].tolist())


def with_cake(kitchen: Kitchen, window: Window, one_more: OneMore) -> Kitchen:
    """Return a kitchen with one more line on its bake plan."""
    if one_more.due_on < window.from_on:
        raise DueInThePastError(one_more.due_on)
    if not one_more.quantity > 0:
        raise NoCakesAskedError
    cakes = kitchen.cakes
    return replace(
        kitchen,
        cakes=PlannedCakes(
            references=[*cakes.references, NEW_REFERENCE],
            due_on=[*cakes.due_on, one_more.due_on],
            cake=np.append(cakes.cake, one_more.cake),
            sizes=[*cakes.sizes, one_more.size],
            quantity=np.append(cakes.quantity, one_more.quantity),
            tentative=np.append(cakes.tentative, False),
        ),
    )


def some_rows(shelf: ShelfRows, nodes: Sequence[int]) -> ShelfRows:
    """Return a shelf with some of its items only, in the order given."""
    row_of_node = np.full(len(shelf.row_of_node), len(nodes), dtype=np.int64)
    row_of_node[np.asarray(nodes, dtype=np.int64)] = np.arange(len(nodes))
    of_rows = row_of_node[np.asarray(shelf.nodes, dtype=np.int64)]
    supplies = replace(shelf.supplies, row=of_rows[shelf.supplies.row])
    return ShelfRows(
        tuple(nodes), row_of_node, shelf.days, only_rows(supplies, len(nodes))
    )


def _reached_rows(shelf: ShelfRows, reached: BoolColumn) -> IntColumn:
    """Return the items of a shelf that may be touched, in its order."""
    nodes: IntColumn = np.asarray(shelf.nodes, dtype=np.int64)
    touched: IntColumn = nodes[reached[nodes]]
    return touched


def _used_by_day(
    prepared: Prepared, figures: Figures, nodes: IntColumn
) -> npt.NDArray[np.float64]:
    """Return what some items are used for in the window: a row a day."""
    days = prepared.window.days
    columns = int(np.searchsorted(prepared.days.after_from, days))
    used_base = np.zeros((days, len(nodes)))
    after_from = prepared.days.after_from[:columns]
    used_base[after_from] = figures.needed_base[nodes, :columns].T
    return used_base


def _late(
    explosion: Explosion, prepared: Prepared, figures: Figures, cake: int
) -> tuple[LateMaking, ...]:
    """Return what the cake needs made before the first day, the latest first.

    The new cake is the last of the planned lines.
    """
    nodes = prepared.kitchen.nodes
    found = []
    if prepared.days_late[-1] > 0 and figures.cakes_to_make[-1] > 0:
        found.append(LateMaking(cake, int(prepared.days_late[-1])))
    reached = reached_by(prepared.bill, nodes, cake)
    for node in np.flatnonzero(reached & (nodes.kind == NodeKind.MADE)).tolist():
        days_late = prepared.making_days[int(nodes.lead_days[node])].days_late
        columns = np.flatnonzero(days_late > 0)
        days = prepared.days.after_from[columns]
        more_base = figures.net_base[node, columns]
        more_base = more_base - _net_on(explosion, node, days)
        is_more = more_base > figures.net_base[node, columns] * NOISE_FRACTION
        if is_more.any():
            found.append(LateMaking(node, int(days_late[columns[is_more]].max())))
    found.sort(key=lambda making: (-making.days_late, nodes.names[making.node]))
    return tuple(found)


def _net_on(explosion: Explosion, node: int, days: IntColumn) -> FloatColumn:
    """Return the net need of a thing before the change on some days."""
    known = explosion.prepared.days
    columns = np.minimum(known.columns(days), len(known) - 1)
    is_known = known.after_from[columns] == days
    net_base: FloatColumn = explosion.figures.net_base[node, columns] * is_known
    return net_base


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
