"""What stands on the shelves and what is on its way, as columns.

A row is a bought item that is not retired, in order of name. Days are numbers from 0,
the window's first; what is on hand when the window opens arrives on day -1.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    BoolColumn,
    FloatColumn,
    IntColumn,
    Kitchen,
    NodeKind,
    Nodes,
    PackTerms,
    Window,
)
from planning.engine.plan_warnings import OverdueOrder

ON_HAND = -1  # in arrives: there before the first day
NEVER = 10_000_000  # in use_by: it does not go out of date

Bought = tuple[PackTerms, int, PossibleDelivery]  # so many packs on one delivery


@dataclass(frozen=True, slots=True)
class Supplies:
    """One row for every amount of stock; columns of equal length, days from 0."""

    row: IntColumn
    amount_base: FloatColumn  # below 0: owed before the first day
    arrives: IntColumn
    usable: IntColumn  # the day it arrives or the next one
    use_by: IntColumn


@dataclass(frozen=True, slots=True)
class ShelfRows:
    """The rows of a projection and everything that will stand on them."""

    nodes: tuple[int, ...]  # of each row
    row_of_node: IntColumn  # len(nodes) where a node has no row
    days: int
    supplies: Supplies


def read_shelf(kitchen: Kitchen, window: Window) -> ShelfRows:
    """Return the kitchen's rows with its stock and the open orders that will come."""
    rows = shelf_nodes(kitchen.nodes)
    row_of_node = np.full(len(kitchen.nodes.ids), len(rows), dtype=np.int64)
    row_of_node[np.asarray(rows, dtype=np.int64)] = np.arange(len(rows))
    stock = _stock(kitchen, window, row_of_node)
    coming = _open_orders(kitchen, window, row_of_node)
    supplies = only_rows(join(stock, coming), len(rows))
    return ShelfRows(rows, row_of_node, window.days, supplies)


def shelf_nodes(nodes: Nodes) -> tuple[int, ...]:
    """Return the bought nodes that are not retired, sorted by name."""
    bought = np.flatnonzero((nodes.kind == NodeKind.BOUGHT) & ~nodes.retired).tolist()
    names = nodes.names
    folded = {node: names[node].casefold() for node in bought}
    return tuple(sorted(bought, key=folded.__getitem__))


def join(first: Supplies, second: Supplies) -> Supplies:
    """Return two sets of supplies as one."""
    return Supplies(
        np.concatenate([first.row, second.row]),
        np.concatenate([first.amount_base, second.amount_base]),
        np.concatenate([first.arrives, second.arrives]),
        np.concatenate([first.usable, second.usable]),
        np.concatenate([first.use_by, second.use_by]),
    )


def only_rows(supplies: Supplies, rows: int) -> Supplies:
    """Return the supplies of the first so many rows."""
    kept = supplies.row < rows
    if kept.all():
        return supplies
    return Supplies(
        supplies.row[kept],
        supplies.amount_base[kept],
        supplies.arrives[kept],
        supplies.usable[kept],
        supplies.use_by[kept],
    )


def only_row(supplies: Supplies, row: int) -> Supplies:
    """Return the supplies of one row, as those of row 0."""
    mine = supplies.row == row
    return Supplies(
        np.zeros(int(mine.sum()), dtype=np.int64),
        supplies.amount_base[mine],
        supplies.arrives[mine],
        supplies.usable[mine],
        supplies.use_by[mine],
    )


def bought_supplies(
    kitchen: Kitchen, window: Window, shelf: ShelfRows, bought: Sequence[Bought]
) -> Supplies:
    """Return packs that deliveries bring as supplies of the shelf."""
    first = window.from_on.toordinal()
    nodes = np.array([pack.node for pack, _, _ in bought], dtype=np.int64)
    arrives = _day_numbers([truck.deliver_on for _, _, truck in bought], first)
    return Supplies(
        shelf.row_of_node[nodes],
        np.array([pack.size_base * packs for pack, packs, _ in bought]),
        arrives,
        _day_numbers([truck.usable_on for _, _, truck in bought], first),
        use_by_days(arrives, kitchen.nodes.keeps_days[nodes]),
    )


def _stock(kitchen: Kitchen, window: Window, row_of_node: IntColumn) -> Supplies:
    lots = kitchen.lots
    count = len(lots.use_by)
    first = window.from_on.toordinal()
    use_by = np.fromiter(
        (NEVER if day is None else day.toordinal() - first for day in lots.use_by),
        dtype=np.int64,
        count=count,
    )
    return Supplies(
        row_of_node[lots.node],
        lots.amount_base,
        np.full(count, ON_HAND, dtype=np.int64),
        np.zeros(count, dtype=np.int64),
        use_by,
    )


def _open_orders(kitchen: Kitchen, window: Window, row_of_node: IntColumn) -> Supplies:
    """Return the open orders that come within the window, on their due days."""
    orders = kitchen.open_orders
    arrives = _day_numbers(orders.due_on, window.from_on.toordinal())
    comes = (arrives >= 0) & (arrives < window.days)
    node, arrives = orders.node[comes], arrives[comes]
    next_day = _usable_next_day(kitchen)[orders.supplier[comes]]
    keeps_days = kitchen.nodes.keeps_days[node]
    return Supplies(
        row_of_node[node],
        orders.amount_base[comes],
        arrives,
        arrives + next_day,
        use_by_days(arrives, keeps_days),
    )


def use_by_days(arrives: IntColumn, keeps_days: IntColumn) -> IntColumn:
    """Return the last day of each amount, its first being the day it arrives."""
    return np.where(keeps_days == NO_LIMIT_DAYS, NEVER, arrives + keeps_days - 1)


def _usable_next_day(kitchen: Kitchen) -> BoolColumn:
    return np.array([terms.usable_next_day for terms in kitchen.suppliers], dtype=bool)


def _day_numbers(days: Sequence[date], first: int) -> IntColumn:
    return np.fromiter(
        (day.toordinal() - first for day in days), dtype=np.int64, count=len(days)
    )


def due_after_base(kitchen: Kitchen, window: Window) -> npt.NDArray[np.float64]:
    """Return what open orders bring after each day: a row a node, a column a day."""
    orders, count = kitchen.open_orders, len(kitchen.nodes.ids)
    due = np.clip(
        _day_numbers(orders.due_on, window.from_on.toordinal()), 0, window.days
    )
    by_day = np.zeros((count, window.days + 1))
    np.add.at(by_day, (orders.node, due), orders.amount_base)
    return np.cumsum(by_day[:, :0:-1], axis=1)[:, ::-1]


def overdue_orders(kitchen: Kitchen, window: Window) -> tuple[OverdueOrder, ...]:
    """Return every line of an open order that should have come, by its due day."""
    orders, names = kitchen.open_orders, kitchen.nodes.names
    found = [
        OverdueOrder(reference, supplier, node, due_on, (window.from_on - due_on).days)
        for due_on, reference, node, supplier in zip(
            orders.due_on,
            orders.references,
            orders.node.tolist(),
            orders.supplier.tolist(),
            strict=True,
        )
        if due_on < window.from_on
    ]
    return tuple(
        sorted(
            found,
            key=lambda each: (
                each.due_on,
                each.reference,
                names[each.node],
                kitchen.suppliers[each.supplier].name,
            ),
        )
    )


def window_days(window: Window) -> tuple[date, ...]:
    """Return every date of the window."""
    return tuple(window.from_on + timedelta(days=n) for n in range(window.days))
