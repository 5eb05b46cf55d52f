"""What a smaller or later bake plan sets free: made stock, and goods on their way.

Both looks must be of one kitchen but for its bake plan, and of one window. Amounts
are float64 in base units. What a change makes short is not said here.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from planning.engine.deliveries import use_by_on
from planning.engine.demand.explosion import Explosion
from planning.engine.kitchen import Kitchen, NodeKind, Window
from planning.engine.plan import Projection

LEAST_FREED_BASE = 0.001  # smaller differences are noise of the sums


@dataclass(frozen=True, slots=True)
class SeenPlan:
    """What a change is judged by: the plan as it was seen before it, or after."""

    kitchen: Kitchen
    window: Window
    explosion: Explosion
    projection: Projection


@dataclass(frozen=True, slots=True)
class Freed:
    """So much of one thing that nobody takes any more, or not in date."""

    node: int
    amount_base: float
    use_by: date | None  # the first last day of use; None: no limit is known
    references: tuple[str, ...] = ()  # of the orders that bring it, sent already
    left_anyway_base: float = 0.0  # of the same orders, with or without the change
    gone_base: float = 0.0  # of what orders bring: out of date before the plan ends


@dataclass(frozen=True, slots=True)
class FreedGoods:
    """What a change sets free, what has to be used first on top of each kind."""

    made: tuple[Freed, ...]
    on_order: tuple[Freed, ...]
    on_hand: tuple[Freed, ...]  # bought goods that go out of date because of it


def find_freed(before: SeenPlan, after: SeenPlan) -> FreedGoods:
    """Return what is set free by a change of the bake plan."""
    on_order, on_hand = [], []
    for node, left_base, expired_base in _more_left(before, after):
        ordered = _of_orders(before, after, node, left_base)
        if ordered:
            on_order.append(ordered)
        # What orders leave is partly among what goes out of date, partly beside it.
        gone_base = ordered.gone_base if ordered else 0.0
        going_base = min(left_base, expired_base) - gone_base
        if going_base >= LEAST_FREED_BASE:
            on_hand.append(Freed(node, going_base, _first_use_by(after, node)))
    return FreedGoods(
        made=_sorted(_made(before, after)),
        on_order=_sorted(on_order),
        on_hand=_sorted(on_hand),
    )


def _more_left(before: SeenPlan, after: SeenPlan) -> Iterator[tuple[int, float, float]]:
    """Yield what more is left of each item, and how much of it goes out of date.

    Left is what is there when the plan ends, and what went out of date within it.
    """
    more_expired = after.projection.expired_base.sum(
        axis=1
    ) - before.projection.expired_base.sum(axis=1)
    was, now = (
        np.maximum(seen.projection.closing_base[:, -1], 0.0) for seen in (before, after)
    )
    more_left = now - was + more_expired
    for row in np.flatnonzero(more_left >= LEAST_FREED_BASE).tolist():
        node = after.projection.nodes[row]
        yield node, float(more_left[row]), max(float(more_expired[row]), 0.0)


def _of_orders(
    before: SeenPlan, after: SeenPlan, node: int, left_base: float
) -> Freed | None:
    """Return how much of what is left comes on orders that are out, the last first.

    What goes out of date is put down to the orders whose last day it was. What they
    leave over whether or not the change is made stands beside it.
    """
    orders = after.kitchen.open_orders
    keeps_days = int(after.kitchen.nodes.keeps_days[node])
    was, now = (_unused_by_use_by(seen, node) for seen in (before, after))
    references, days = [], []
    amount_base = anyway_base = gone_base = 0.0
    for place in _coming(after, node):
        brings_base = float(orders.amount_base[place])
        use_by = use_by_on(keeps_days, orders.due_on[place])
        last_on = use_by if use_by in now else None
        free_base = min(
            brings_base, left_base - amount_base, now[last_on] - was[last_on]
        )
        if free_base < LEAST_FREED_BASE:
            continue
        # What is still good when the plan ends may be used later.
        unused_base = min(brings_base, now[last_on]) if last_on else free_base
        now[last_on] -= unused_base
        was[last_on] -= unused_base - free_base
        anyway_base += unused_base - free_base
        amount_base += free_base
        gone_base += free_base if last_on else 0.0
        references.append(orders.references[place])
        days.append(orders.due_on[place])
    if not references:
        return None
    use_by = use_by_on(keeps_days, min(days))
    named = tuple(sorted(references))
    return Freed(node, amount_base, use_by, named, anyway_base, gone_base)


def _coming(seen: SeenPlan, node: int) -> list[int]:
    """Return the places of the open orders that bring an item in time, last first."""
    orders, window = seen.kitchen.open_orders, seen.window
    mine = [
        place
        for place in np.flatnonzero(orders.node == node).tolist()
        if window.from_on <= orders.due_on[place] <= window.to_on
    ]
    return sorted(mine, key=lambda place: orders.due_on[place], reverse=True)


def _unused_by_use_by(seen: SeenPlan, node: int) -> dict[date | None, float]:
    """Return what goes out of date within the plan, by its last day of use.

    By None, what is left when the plan ends.
    """
    projection = seen.projection
    row = projection.nodes.index(node)
    gone_base = projection.expired_base[row, 1:].tolist()
    left_base = max(float(projection.closing_base[row, -1]), 0.0)
    return {None: left_base, **dict(zip(projection.days, gone_base, strict=False))}


def _made(before: SeenPlan, after: SeenPlan) -> Iterator[Freed]:
    """Yield the made stock that is not taken any more."""
    nodes, lots = after.kitchen.nodes, after.kitchen.lots
    first = after.window.from_on
    for node in np.unique(lots.node[nodes.kind[lots.node] == NodeKind.MADE]).tolist():
        in_date_base = sum(
            float(lots.amount_base[lot])
            for lot in np.flatnonzero(lots.node == node).tolist()
            if (lots.use_by[lot] or date.max) >= first
        )
        was, now = (
            min(max(_served_base(seen, node), 0.0), in_date_base)
            for seen in (before, after)
        )
        if was - now >= LEAST_FREED_BASE:
            yield Freed(node, was - now, _first_use_by(after, node))


def _served_base(seen: SeenPlan, node: int) -> float:
    """Return what lies ready serves of a made thing, over all days."""
    figures = seen.explosion.figures
    return float((figures.needed_base[node] - figures.net_base[node]).sum())


def _first_use_by(seen: SeenPlan, node: int) -> date | None:
    lots = seen.kitchen.lots
    dates = [
        use_by
        for lot in np.flatnonzero(lots.node == node).tolist()
        if (use_by := lots.use_by[lot]) is not None and use_by >= seen.window.from_on
    ]
    return min(dates, default=None)


def _sorted(found: Iterator[Freed] | list[Freed]) -> tuple[Freed, ...]:
    return tuple(sorted(found, key=lambda each: (each.use_by or date.max, each.node)))
