"""Use-bys that ingredients cap: what is unbaked keeps no longer than what went into it.

A recipe that says so (`caps_use_by`) makes nothing that outlives the earliest use-by
among the lots of its own bought ingredients that the day's use takes, first in, first
out by date. Parts of a split cap nothing. Days are numbers after the plan's first day.

What a cap takes from a later day changes what that day uses, and so the lots of later
days still; a day's caps depend on the days up to it alone.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from planning.engine.deliveries import first_usable_on, use_by_on
from planning.engine.demand.figures import Figures
from planning.engine.demand.netting import FOR_EVER
from planning.engine.demand.prepared import Prepared
from planning.engine.kitchen import NodeKind

# Last days by recipe and by the day on which it is made.
Caps = Mapping[int, Mapping[int, int]]
NO_CAPS: Caps = {}


def is_capped(prepared: Prepared) -> bool:
    """Whether a cap could change anything: only what is left of a batch is capped."""
    nodes = prepared.kitchen.nodes
    return bool((nodes.caps_use_by & (nodes.batch_step > 0)).any())


def use_by_caps(prepared: Prepared, figures: Figures) -> Caps:
    """Return the last day of what each capped recipe leaves over, by making day.

    Days on which nothing is left over, and those without a cap, are absent.
    """
    nodes, lines = prepared.kitchen.nodes, prepared.kitchen.lines
    is_bought = nodes.kind == NodeKind.BOUGHT
    taken_until = _Taken(prepared, figures)
    caps: dict[int, dict[int, int]] = {}
    for recipe in np.flatnonzero(nodes.caps_use_by & (nodes.batch_step > 0)).tolist():
        mine = lines.component[(lines.recipe == recipe) & (lines.quantity_base > 0)]
        bought = mine[is_bought[mine]].tolist()
        columns = np.flatnonzero(figures.surplus_base[recipe] > 0)
        for made_on in prepared.days.after_from[columns].tolist():
            last = min((taken_until.on(item, made_on) for item in bought), default=None)
            if last is not None and last < FOR_EVER:
                caps.setdefault(recipe, {})[made_on] = last
    return caps


class _Taken:
    """The earliest use-by that each day's use of an item takes."""

    def __init__(self, prepared: Prepared, figures: Figures) -> None:
        self._prepared, self._figures = prepared, figures
        self._lots_of = _lots_by_item(prepared)
        self._found: dict[int, dict[int, int]] = {}

    def on(self, item: int, day: int) -> int:
        """Return the earliest last day among what a day takes; FOR_EVER where none."""
        if item not in self._found:
            used_base = self._figures.needed_base[item].tolist()
            by_day = zip(
                self._prepared.days.after_from.tolist(), used_base, strict=True
            )
            self._found[item] = _earliest_taken(self._lots_of.get(item, []), by_day)
        return self._found[item].get(day, FOR_EVER)


@dataclass(slots=True)
class _Lot:
    last_day: int
    usable_on: int
    left_base: float


def _lots_by_item(prepared: Prepared) -> dict[int, list[_Lot]]:
    """Return stock and open orders of every node, earliest use-by first."""
    kitchen, from_on = prepared.kitchen, prepared.window.from_on
    first = from_on.toordinal()
    found: dict[int, list[_Lot]] = defaultdict(list)
    lots = kitchen.lots
    rows = zip(lots.node.tolist(), lots.amount_base.tolist(), lots.use_by, strict=True)
    for node, amount_base, use_by in rows:
        last = FOR_EVER if use_by is None else use_by.toordinal() - first
        found[node].append(_Lot(last, 0, amount_base))
    orders, keeps_days = kitchen.open_orders, kitchen.nodes.keeps_days
    for row, due_on in enumerate(orders.due_on):
        if due_on < from_on:
            continue  # overdue: it is left out
        node = int(orders.node[row])
        supplier = kitchen.suppliers[int(orders.supplier[row])]
        use_by = use_by_on(int(keeps_days[node]), due_on)
        last = FOR_EVER if use_by is None else use_by.toordinal() - first
        usable_on = first_usable_on(supplier, due_on).toordinal() - first
        found[node].append(_Lot(last, usable_on, float(orders.amount_base[row])))
    for of_node in found.values():
        of_node.sort(key=lambda lot: (lot.last_day, lot.usable_on))
    return found


def _earliest_taken(
    lots: list[_Lot], used_by_day: Iterable[tuple[int, float]]
) -> dict[int, int]:
    """Return by day the earliest last day of what is taken; the lots are used up.

    What was short is taken from the next lot that becomes usable.
    """
    owed_base = -sum(lot.left_base for lot in lots if lot.left_base < 0)
    found: dict[int, int] = {}
    for day, used_base in used_by_day:
        owed_base += used_base
        for lot in lots:
            if lot.left_base <= 0 or not lot.usable_on <= day <= lot.last_day:
                continue
            if owed_base <= 0:
                break
            taken_base = min(lot.left_base, owed_base)
            lot.left_base -= taken_base
            owed_base -= taken_base
            if used_base > 0:
                found[day] = min(found.get(day, FOR_EVER), lot.last_day)
    return found
