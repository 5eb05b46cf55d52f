"""The bake plan's lines that a plan looks at, and how large each cake is."""

from dataclasses import dataclass

import numpy as np

from planning.engine.demand import geometry
from planning.engine.demand.bill import NO_TAKER, Bill
from planning.engine.demand.days import MakingDays
from planning.engine.kitchen import (
    BoolColumn,
    FloatColumn,
    IntColumn,
    Kitchen,
    Nodes,
    Scale,
    Window,
)
from planning.errors import UnscalableCakeError


@dataclass(frozen=True, slots=True)
class PlannedRows:
    """The live lines due on or after the first day; columns of equal length."""

    row: IntColumn  # in the kitchen's cakes
    cake: IntColumn  # node
    due: IntColumn  # days after the first day
    quantity: FloatColumn
    factor: FloatColumn  # Scale x line: what a cake's lines are multiplied by
    is_base_size: BoolColumn
    overdue: IntColumn  # live lines due before the first day: rows of the cakes


def planned_rows(kitchen: Kitchen, window: Window, bill: Bill) -> PlannedRows:
    """Return the lines of the bake plan that count, with their sizes worked out."""
    cakes = kitchen.cakes
    first = window.from_on.toordinal()
    due = np.array([day.toordinal() for day in cakes.due_on], dtype=np.int64) - first
    is_live = cakes.quantity > 0
    if not window.tentative:
        is_live &= ~cakes.tentative
    rows = np.flatnonzero(is_live & (due >= 0))
    factor, is_base_size = _sizes(kitchen, bill, rows)
    return PlannedRows(
        row=rows,
        cake=cakes.cake[rows],
        due=due[rows],
        quantity=cakes.quantity[rows],
        factor=factor,
        is_base_size=is_base_size,
        overdue=np.flatnonzero(is_live & (due < 0)),
    )


def cake_takes(
    planned: PlannedRows,
    bill: Bill,
    made_column: IntColumn,
    quantity: FloatColumn,
    shape: tuple[int, int],
) -> FloatColumn:
    """Return what each taker of the cakes comes to by day, in base cakes.

    `shape` is takers by days; `made_column` and `quantity` go by planned line.
    """
    takes = np.zeros(shape)
    for scale in Scale:
        taker = bill.taker_by_scale[scale, planned.cake]
        used = np.flatnonzero(taker != NO_TAKER)
        amount = quantity[used] * planned.factor[scale, used]
        np.add.at(takes, (taker[used], made_column[used]), amount)
    return takes


def made_columns(
    planned: PlannedRows,
    nodes: Nodes,
    due_column: IntColumn,
    making_days: dict[int, MakingDays],
) -> tuple[IntColumn, IntColumn]:
    """Return the column on which each planned line is made, and how late, in days."""
    column, days_late = np.zeros_like(due_column), np.zeros_like(due_column)
    lead_days = nodes.lead_days[planned.cake]
    for lead in np.unique(lead_days).tolist():
        made, rows = making_days[lead], lead_days == lead
        column[rows] = made.column[due_column[rows]]
        days_late[rows] = made.days_late[due_column[rows]]
    return column, days_late


def _sizes(
    kitchen: Kitchen, bill: Bill, rows: IntColumn
) -> tuple[FloatColumn, BoolColumn]:
    """Return each line's factors, by scale, and whether it is of the base size."""
    height_cm = kitchen.bakery.layer_height_cm
    cakes = kitchen.cakes.cake[rows]
    base_sizes = [kitchen.nodes.base_size[cake] for cake in cakes.tolist()]
    sizes = [
        kitchen.cakes.sizes[row].strip() or base_size
        for row, base_size in zip(rows.tolist(), base_sizes, strict=True)
    ]
    shape = (len(rows), len(Scale))
    sums = np.array([geometry.size_sums(size, height_cm) for size in sizes])
    base_sums = np.array([geometry.size_sums(size, height_cm) for size in base_sizes])
    factor = geometry.factors_of(sums.reshape(shape), base_sums.reshape(shape)).T
    _check_scalable(kitchen, bill, cakes, factor)
    is_base_size = [
        size == base_size or geometry.are_one_size(size, base_size)
        for size, base_size in zip(sizes, base_sizes, strict=True)
    ]
    return factor, np.array(is_base_size, dtype=np.bool_)


def _check_scalable(
    kitchen: Kitchen, bill: Bill, cakes: IntColumn, factor: FloatColumn
) -> None:
    """Refuse a cake with a line whose base has nothing to go by."""
    is_used = bill.taker_by_scale[:, cakes] != NO_TAKER
    wrong = np.argwhere((is_used & np.isnan(factor)).T)
    if wrong.size:
        place, scale = wrong[0].tolist()
        cake = int(cakes[place])
        raise UnscalableCakeError(
            kitchen.nodes.names[cake],
            kitchen.nodes.base_size[cake],
            Scale(scale).name.lower(),
        )
