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
from planning.engine.shelves.supplies import NEVER, Supplies


@dataclass(frozen=True, slots=True)
class Expiries:
    """What is taken off the shelf; columns of equal length, days from 0."""

    row: IntColumn
    day: IntColumn
    amount_base: FloatColumn


@dataclass(slots=True)
class Lots:
    """The amounts of some rows side by side: a column an item, earliest use-by first.

    A line is a lot, so that all items are worked on in one sweep.
    """

    rows: IntColumn
    left_base: npt.NDArray[np.float64]  # positive amounts; 0 fills a column up
    usable: IntColumn
    use_by: IntColumn
    owed_base: FloatColumn  # by item: used, but not there yet

    def stretches(self, days: int) -> IntColumn:
        """Return the days on which each item's stretches begin, and its end."""
        stops = np.zeros((2 * len(self.use_by) + 2, len(self.rows)), dtype=np.int64)
        stops[-1] = days
        np.clip(self.usable, 0, days, out=stops[1:-1:2])
        np.clip(self.use_by + 1, 0, days, out=stops[2:-1:2])
        stops.sort(axis=0)
        # A day that comes twice begins one stretch only.
        stops[1:][stops[1:] == stops[:-1]] = days
        stops.sort(axis=0)
        return stops

    def expire(self, day: IntColumn) -> FloatColumn:
        """Take off what is out of date on each item's day; return how much."""
        gone = self.left_base * (self.use_by < day)
        self.left_base -= gone
        return np.asarray(gone.sum(axis=0))

    def use(self, day: IntColumn, used_base: FloatColumn) -> None:
        """Take what is used, and was owed, from what is usable on each item's day."""
        needed_base = self.owed_base + used_base
        up_to = self.left_base * (self.usable <= day)
        np.cumsum(up_to, axis=0, out=up_to)
        np.minimum(up_to, needed_base, out=up_to)
        self.owed_base = needed_base - up_to[-1]
        self.left_base -= up_to
        self.left_base[1:] += up_to[:-1]


def expiring_rows(supplies: Supplies, days: int) -> IntColumn:
    """Return the rows with an amount that can go out of date within the days."""
    is_expiring = np.zeros(int(supplies.row.max(initial=-1)) + 1, dtype=np.bool_)
    is_expiring[supplies.row[supplies.use_by < days - 1]] = True
    return np.flatnonzero(is_expiring)


def use_up(
    supplies: Supplies, used_base: npt.NDArray[np.float64], rows: IntColumn
) -> tuple[Expiries, Lots]:
    """Return what goes out of date in some rows, and what is left of their lots.

    `used_base` has a row a day and a column an item.
    """
    days = len(used_base)
    lots = lots_of_rows(supplies, rows, used_base.shape[1])
    if not len(rows):
        nothing = np.zeros(0, dtype=np.int64)
        return Expiries(nothing, nothing, np.zeros(0)), lots
    used_to_date = np.zeros((days + 1, len(rows)))
    np.cumsum(used_base[:, rows], axis=0, out=used_to_date[1:])
    stretches = lots.stretches(days)
    before_base = np.take_along_axis(used_to_date, stretches, axis=0)
    steps = int((stretches < days).any(axis=1).sum())
    found_base = np.zeros((steps, len(rows)))
    for step in range(steps):
        # An item that is through stays at its last day, on which nothing is left to do.
        day = np.minimum(stretches[step], days - 1)
        found_base[step] = lots.expire(day)
        lots.use(day, before_base[step + 1] - before_base[step])
    step_of, place = np.nonzero(found_base)
    return (
        Expiries(rows[place], stretches[step_of, place], found_base[step_of, place]),
        lots,
    )


def lots_of_rows(supplies: Supplies, rows: IntColumn, all_rows: int) -> Lots:
    """Return the amounts of some rows, sorted by use-by and filled up with nothing."""
    place_of_row = np.full(all_rows, -1, dtype=np.int64)
    place_of_row[rows] = np.arange(len(rows))
    concerned = np.flatnonzero(place_of_row[supplies.row] >= 0)
    place = place_of_row[supplies.row[concerned]]
    order = np.argsort(place * (4 * NEVER) + supplies.use_by[concerned], kind="stable")
    concerned, place = concerned[order], place[order]
    counts = np.bincount(place, minlength=len(rows))
    line = np.arange(len(place)) - np.repeat(np.cumsum(counts) - counts, counts)
    shape = (int(counts.max(initial=1)), len(rows))
    left_base, usable = np.zeros(shape), np.zeros(shape, dtype=np.int64)
    use_by = np.full(shape, NEVER, dtype=np.int64)
    amount_base = supplies.amount_base[concerned]
    left_base[line, place] = np.maximum(amount_base, 0.0)
    usable[line, place] = supplies.usable[concerned]
    use_by[line, place] = supplies.use_by[concerned]
    owed = np.bincount(place, np.maximum(-amount_base, 0.0), minlength=len(rows))
    return Lots(rows, left_base, usable, use_by, owed.astype(np.float64))
