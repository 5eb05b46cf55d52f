"""What the way down the levels starts from, and its single steps.

`prepare` turns a kitchen into level matrices and calendars.
"""

from dataclasses import dataclass

import numpy as np

from planning.engine.demand.bill import NO_TAKER, Bill, BillLevel, bill_of
from planning.engine.demand.planned import (
    MakingDays,
    PlanDays,
    PlannedRows,
    made_columns,
    plan_days,
    planned_rows,
)
from planning.engine.kitchen import (
    NO_NODE,
    FloatColumn,
    IntColumn,
    Kitchen,
    NodeKind,
    Nodes,
    Window,
)
from planning.errors import NoYieldError


@dataclass(frozen=True, slots=True)
class MadeGroup:
    """Made nodes of one level that have one lead time; columns of equal length."""

    nodes: IntColumn
    takers: IntColumn  # NO_TAKER where the recipe has no lines
    net_per_batch_base: FloatColumn  # one batch, less the loss
    days: MakingDays


@dataclass(frozen=True, slots=True)
class Prepared:
    """A kitchen as level matrices and calendars."""

    kitchen: Kitchen
    window: Window
    bill: Bill
    planned: PlannedRows
    days: PlanDays
    due_column: IntColumn  # of each planned line
    made_column: IntColumn  # of each planned line
    days_late: IntColumn  # of each planned line
    making_days: dict[int, MakingDays]  # by lead days
    made_groups: tuple[tuple[MadeGroup, ...], ...]  # by level
    parts_of: dict[int, IntColumn]  # by whole

    @property
    def shape(self) -> tuple[int, int]:
        """Nodes by days."""
        return len(self.kitchen.nodes.names), len(self.days)

    @property
    def takes_shape(self) -> tuple[int, int]:
        """Takers by days."""
        return len(self.bill.taker_node), len(self.days)


def prepare(kitchen: Kitchen, window: Window, bill: Bill | None = None) -> Prepared:
    """Return a kitchen made ready for the sweep; wrong recipes and sizes are errors.

    `bill` may be that of a kitchen with the same recipes.
    """
    nodes = kitchen.nodes
    bill = bill or bill_of(nodes, kitchen.lines)
    planned = planned_rows(kitchen, window, bill)
    is_made = (nodes.kind == NodeKind.MADE) | (nodes.kind == NodeKind.CAKE)
    leads = np.unique(nodes.lead_days[is_made]).tolist()
    days = plan_days(
        kitchen.bakery,
        from_on=window.from_on,
        due_after_from=planned.due,
        lead_days=leads,
        depth=len(bill.levels),
    )
    making_days = {lead: days.made_for(lead) for lead in leads}
    due_column = days.columns(planned.due)
    made_column, days_late = made_columns(planned, nodes, due_column, making_days)
    return Prepared(
        kitchen=kitchen,
        window=window,
        bill=bill,
        planned=planned,
        days=days,
        due_column=due_column,
        made_column=made_column,
        days_late=days_late,
        making_days=making_days,
        made_groups=tuple(
            _made_groups(nodes, level, making_days) for level in bill.levels
        ),
        parts_of=_parts_of(nodes),
    )


def take_down(level: BillLevel, takes: FloatColumn, needed_base: FloatColumn) -> None:
    """Add what a level takes to the needs of what lies below it."""
    if level.matrix.nnz:
        needed_base += level.matrix @ takes[level.takers]


def whole_batches(nodes: Nodes, group: MadeGroup, net_base: FloatColumn) -> FloatColumn:
    """Return the batches of a group by making day, in any fraction of a batch."""
    check_yields(nodes, group.nodes, group.net_per_batch_base, net_base)
    with np.errstate(divide="ignore", invalid="ignore"):
        batches = net_base / group.net_per_batch_base[:, np.newaxis]
    batches[group.net_per_batch_base <= 0] = 0.0
    return group.days.gather(batches)


def part_yields_base(
    nodes: Nodes, parts: IntColumn, needed_base: FloatColumn
) -> FloatColumn:
    """Return what one whole yields of each part; a part without yield is an error."""
    yields_base = nodes.part_yields_base[parts]
    if (yields_base <= 0).any():
        check_yields(nodes, parts, yields_base, needed_base[parts])
        return np.where(yields_base > 0, yields_base, np.inf)
    return yields_base


def check_yields(
    nodes: Nodes, chosen: IntColumn, yields_base: FloatColumn, needed: FloatColumn
) -> None:
    """Refuse to make something that is needed, but of which one yields nothing."""
    if (yields_base > 0).all():
        return
    is_wrong = (yields_base <= 0) & (needed > 0).any(axis=1)
    if is_wrong.any():
        raise NoYieldError(nodes.names[int(chosen[np.argmax(is_wrong)])])


def _made_groups(
    nodes: Nodes, level: BillLevel, making_days: dict[int, MakingDays]
) -> tuple[MadeGroup, ...]:
    lead_days = nodes.lead_days[level.made]
    takers = level.made_taker
    takers = np.where(takers == NO_TAKER, NO_TAKER, takers + level.takers.start)
    groups = []
    for lead in np.unique(lead_days).tolist():
        rows = lead_days == lead
        made = level.made[rows]
        net_per_batch_base = nodes.net_yield_base(made)
        groups.append(
            MadeGroup(made, takers[rows], net_per_batch_base, making_days[lead])
        )
    return tuple(groups)


def _parts_of(nodes: Nodes) -> dict[int, IntColumn]:
    parts = np.flatnonzero(nodes.whole != NO_NODE)
    whole_of = nodes.whole[parts]
    return {whole: parts[whole_of == whole] for whole in np.unique(whole_of).tolist()}
