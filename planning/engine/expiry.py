"""What goes out of date: lots used earliest use-by first, each until its last day.

Only items with an amount that can go out of date within the window come here. Between
two days on which an amount becomes usable or goes out, nothing changes but what is
used, so a whole stretch is taken at once; all items step through their own stretches
side by side.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.supplies import NEVER, Supplies


@dataclass(frozen=True, slots=True)
class Expiries:
    """What is taken off the shelf; columns of equal length, days from 0."""

    row: IntColumn
    day: IntColumn
    amount_base: FloatColumn


@dataclass(slots=True)
class Lots:
    """The amounts of some rows side by side: a row an item, earliest use-by first."""

    rows: IntColumn
    left_base: FloatColumn  # positive amounts; 0 fills the row up
    usable: IntColumn
    use_by: IntColumn
    owed_base: FloatColumn  # by row: used, but not there yet

    def stretches(self, days: int) -> IntColumn:
        """Return the days on which each row's stretches begin, and its end."""
        begin = np.zeros((len(self.rows), 1), dtype=np.int64)
        stops = np.clip(np.hstack([self.usable, self.use_by + 1]), 0, days)
        end = np.full((len(self.rows), 1), days, dtype=np.int64)
        return np.sort(np.hstack([begin, stops, end]), axis=1)

    def expire(self, day: IntColumn) -> FloatColumn:
        """Take off what is out of date on each row's day; return how much."""
        gone = np.where(self.use_by < day[:, None], self.left_base, 0.0)
        self.left_base -= gone
        return np.asarray(gone.sum(axis=1))

    def use(self, day: IntColumn, used_base: FloatColumn) -> None:
        """Take what is used, and was owed, from what is usable on each row's day."""
        usable = np.where(self.usable <= day[:, None], self.left_base, 0.0)
        needed = self.owed_base + used_base
        up_to = np.minimum(np.cumsum(usable, axis=1), needed[:, None])
        self.left_base -= np.diff(up_to, axis=1, prepend=0.0)
        self.owed_base = needed - up_to[:, -1]


def expiring_rows(supplies: Supplies, days: int) -> IntColumn:
    """Return the rows with an amount that can go out of date within the days."""
    return np.unique(supplies.row[supplies.use_by < days - 1])


def use_up(
    supplies: Supplies, used_base: npt.NDArray[np.float64], rows: IntColumn
) -> tuple[Expiries, Lots]:
    """Return what goes out of date in some rows, and what is left of their lots.

    `used_base` has a row a day and a column an item.
    """
    days = len(used_base)
    lots = lots_of_rows(supplies, rows)
    used_to_date = np.zeros((days + 1, len(rows)))
    np.cumsum(used_base[:, rows], axis=0, out=used_to_date[1:])
    column = np.arange(len(rows))
    stretches = lots.stretches(days)
    found_day, found_base = [], []
    for begin, end in zip(stretches.T[:-1], stretches.T[1:], strict=True):
        day = np.minimum(begin, days - 1)  # a row that is through stays at its last day
        found_day.append(day)
        found_base.append(lots.expire(day))
        lots.use(day, used_to_date[end, column] - used_to_date[begin, column])
    return _sparse(rows, found_day, found_base), lots


def lots_of_rows(supplies: Supplies, rows: IntColumn) -> Lots:
    """Return the amounts of some rows, sorted by use-by and filled up with nothing."""
    concerned = np.flatnonzero(np.isin(supplies.row, rows))
    order = concerned[np.lexsort((supplies.use_by[concerned], supplies.row[concerned]))]
    line = np.searchsorted(rows, supplies.row[order])
    counts = np.bincount(line, minlength=len(rows))
    place = np.arange(len(order)) - np.repeat(np.cumsum(counts) - counts, counts)
    shape = (len(rows), int(counts.max(initial=1)))
    left_base, usable = np.zeros(shape), np.zeros(shape, dtype=np.int64)
    use_by = np.full(shape, NEVER, dtype=np.int64)
    amount_base = supplies.amount_base[order]
    left_base[line, place] = np.maximum(amount_base, 0.0)
    usable[line, place] = supplies.usable[order]
    use_by[line, place] = supplies.use_by[order]
    owed = np.bincount(line, np.maximum(-amount_base, 0.0), minlength=len(rows))
    return Lots(rows, left_base, usable, use_by, owed.astype(np.float64))


def _sparse(
    rows: IntColumn, found_day: list[IntColumn], found_base: list[FloatColumn]
) -> Expiries:
    if not found_base:
        nothing = np.zeros(0, dtype=np.int64)
        return Expiries(nothing, nothing, np.zeros(0))
    amounts = np.array(found_base)
    step, line = np.nonzero(amounts > 0)
    return Expiries(rows[line], np.array(found_day)[step, line], amounts[step, line])
