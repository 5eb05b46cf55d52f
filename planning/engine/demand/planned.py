"""The bake plan's lines that a plan looks at, and how large each cake is.

On which day something is made: so many days before, then back over closed days.

A day is a whole number of days after the plan's first day; 0 is that first day. What
should have been made before it is made on it, even if closed, and is late. So only
day 0 is ever late.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

import numpy as np

from planning.engine.demand import geometry
from planning.engine.demand.bill import NO_TAKER, Bill
from planning.engine.kitchen import (
    BakeryTerms,
    BoolColumn,
    FloatColumn,
    IntColumn,
    Kitchen,
    Nodes,
    Scale,
    Window,
)
from planning.errors import UnscalableCakeError

# Up to so far ahead a plan keeps a column for every day; a single wedding years ahead
# must not cost a column for each day until then.
EVERY_DAY_UP_TO = 400
DAYS_A_WEEK = 7


@dataclass(frozen=True, slots=True)
class MakingDays:
    """For every column of days: the column on which something is made for it."""

    column: IntColumn  # never falls from left to right
    days_late: IntColumn  # 0 where it is in time

    def gather(self, needed: FloatColumn) -> FloatColumn:
        """Return what is needed by day, summed onto the days of making.

        One row for each thing; columns are days.
        """
        count = len(self.column)
        firsts = np.flatnonzero(np.diff(self.column, prepend=-1))
        if firsts.size == count:
            return needed
        made = np.zeros_like(needed)
        made[:, self.column[firsts]] = np.add.reduceat(needed, firsts, axis=1)
        return made


@dataclass(frozen=True, slots=True)
class PlanDays:
    """Every day on which anything of a plan may fall, ascending."""

    from_on: date
    after_from: IntColumn  # days after the first day, by column; the first is 0
    closed_weekdays: frozenset[int]
    closed_ordinals: IntColumn

    def __len__(self) -> int:
        """Return how many days there are."""
        return len(self.after_from)

    def columns(self, after_from: IntColumn) -> IntColumn:
        """Return the columns of days that the plan has."""
        return np.searchsorted(self.after_from, after_from)

    def column_of(self, day: date) -> int | None:
        """Return a day's column, or None for a day on which nothing falls."""
        after_from = day.toordinal() - self.from_on.toordinal()
        column = int(np.searchsorted(self.after_from, after_from))
        if column < len(self) and self.after_from[column] == after_from:
            return column
        return None

    def on(self, column: int) -> date:
        """Return the date of a column."""
        first = self.from_on.toordinal()
        return date.fromordinal(first + int(self.after_from[column]))

    def made_for(self, lead_days: int) -> MakingDays:
        """Return when something of this lead time is made, by day it is needed."""
        wanted = self.open_on_or_before(self.after_from - lead_days)
        made = np.maximum(wanted, 0)
        return MakingDays(self.columns(made), made - wanted)

    def with_days(self, after_from: IntColumn) -> "PlanDays":
        """Return the same calendar with other days in it."""
        return PlanDays(
            self.from_on, after_from, self.closed_weekdays, self.closed_ordinals
        )

    def open_on_or_before(self, days: IntColumn) -> IntColumn:
        """Return the last open day up to each day, even if before the plan."""
        if not self.closed_weekdays and not self.closed_ordinals.size:
            return days
        if len(self.closed_weekdays) == DAYS_A_WEEK:
            return np.minimum(days, -1)
        first = self.from_on.toordinal()
        closed_by_weekday = np.zeros(DAYS_A_WEEK, dtype=np.bool_)
        closed_by_weekday[sorted(self.closed_weekdays)] = True

        def is_closed(days: IntColumn) -> BoolColumn:
            # Ordinal 1 was a Monday.
            closed = closed_by_weekday[(days + first - 1) % DAYS_A_WEEK]
            if self.closed_ordinals.size:
                closed |= np.isin(days + first, self.closed_ordinals)
            return closed

        while (closed := is_closed(days)).any():
            days = days - closed
        return days


def plan_days(
    bakery: BakeryTerms,
    *,
    from_on: date,
    due_after_from: IntColumn,
    lead_days: Collection[int],
    depth: int,
) -> PlanDays:
    """Return every day on which something may fall, first day included.

    Something due is made at most `depth` lead times before; which of the lead times
    apply is not looked at, so there may be days on which nothing falls.
    """
    calendar = PlanDays(
        from_on,
        np.zeros(1, dtype=np.int64),
        bakery.closed_weekdays,
        np.array(sorted(day.toordinal() for day in bakery.closed_on), dtype=np.int64),
    )
    last = int(due_after_from.max(initial=0))
    if last <= EVERY_DAY_UP_TO:
        return calendar.with_days(np.arange(last + 1))
    known = new = np.union1d(due_after_from, calendar.after_from)
    for _ in range(depth):
        reached = [
            np.maximum(calendar.open_on_or_before(new - lead), 0) for lead in lead_days
        ]
        new = np.setdiff1d(np.concatenate(reached), known) if reached else new[:0]
        if not new.size:
            break
        known = np.union1d(known, new)
    return calendar.with_days(known)


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
