"""The shelf day by day: what opens, comes in, is used, goes out of date and is left.

Stock and open orders only, never suggested ones, unless they are put among the
supplies. What could not be taken is owed and taken from the next amount that becomes
usable, so what is left may be less than nothing.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planning.engine.kitchen import Kitchen, Window
from planning.engine.plan import Demand, Projection
from planning.engine.shelves.expiry import expiring_rows, use_up
from planning.engine.shelves.supplies import (
    ON_HAND,
    ShelfRows,
    Supplies,
    read_shelf,
    window_days,
)

# A lack smaller than this is none: it is noise of adding floats.
LEAST_LACK_BASE = 0.001


@dataclass(frozen=True, slots=True)
class ShelfDays:
    """The figures of a projection; a row a day, a column an item."""

    ends_base: npt.NDArray[np.float64]  # the first row is before the first day
    received_base: npt.NDArray[np.float64]
    expired_base: npt.NDArray[np.float64]
    outstanding_base: npt.NDArray[np.float64]


def project(kitchen: Kitchen, window: Window, demand: Demand) -> Projection:
    """Return every day of every bought item that is not retired."""
    return project_shelf(read_shelf(kitchen, window), window, demand)


def project_shelf(shelf: ShelfRows, window: Window, demand: Demand) -> Projection:
    """Return every day of a shelf that has been read."""
    used_base = used_by_day(shelf, window, demand)
    figures = shelf_days(shelf.supplies, used_base)
    return Projection(
        nodes=shelf.nodes,
        days=window_days(window),
        opening_base=figures.ends_base[:-1].T,
        received_base=figures.received_base.T,
        used_base=used_base.T,
        expired_base=figures.expired_base.T,
        closing_base=figures.ends_base[1:].T,
        outstanding_base=figures.outstanding_base.T,
        is_out=(figures.outstanding_base >= LEAST_LACK_BASE).T,
    )


def used_by_day(
    shelf: ShelfRows, window: Window, demand: Demand
) -> npt.NDArray[np.float64]:
    """Return the demand as a row a day and a column an item."""
    first = window.from_on.toordinal()
    start, stop = np.searchsorted(demand.day, [first, first + window.days])
    columns = len(shelf.nodes) + 1  # the last is for nodes that have no row
    cell = shelf.row_of_node[demand.node[start:stop]]
    cell += (demand.day[start:stop] - first) * columns
    used = np.bincount(
        cell, demand.amount_base[start:stop], minlength=window.days * columns
    )
    by_day = np.asarray(used, dtype=np.float64).reshape(window.days, columns)
    return by_day[:, :-1]


def shelf_days(supplies: Supplies, used_base: npt.NDArray[np.float64]) -> ShelfDays:
    """Return the shelf at the end of every day, and how it came to that."""
    gone, _ = use_up(supplies, used_base, expiring_rows(supplies, len(used_base)))
    comes = np.flatnonzero(supplies.arrives > ON_HAND)
    arrives, row = supplies.arrives[comes], supplies.row[comes]
    figures = _empty_days(*used_base.shape)
    np.add.at(figures.received_base, (arrives, row), supplies.amount_base[comes])
    figures.expired_base[gone.day, gone.row] = gone.amount_base
    # Day -1, on hand, is the first row; so every day stands one row further down.
    ends_base = figures.ends_base
    np.add.at(ends_base, (supplies.arrives + 1, supplies.row), supplies.amount_base)
    ends_base[gone.day + 1, gone.row] -= gone.amount_base
    # Two days at a time stay in the cache: faster than np.cumsum along the days.
    for day, used in enumerate(used_base):
        np.add(ends_base[day + 1], ends_base[day], out=ends_base[day + 1])
        np.subtract(ends_base[day + 1], used, out=ends_base[day + 1])
    _fill_outstanding(supplies, figures)
    return figures


def _empty_days(days: int, columns: int) -> ShelfDays:
    """Return days of nothing, cut from one array.

    Numpy asks for huge pages for a large array only: one is several times faster to
    get than four of a quarter of its size.
    """
    block = np.zeros((4 * days + 1, columns))
    ends_base, others = block[: days + 1], block[days + 1 :]
    return ShelfDays(ends_base, *others.reshape(3, days, columns))


def _fill_outstanding(supplies: Supplies, figures: ShelfDays) -> None:
    """Set what is owed at the end of each day.

    Something is owed only when nothing usable is left; what is left is then what
    cannot be used before tomorrow, less what is owed.
    """
    owed_base = figures.outstanding_base
    np.negative(figures.ends_base[1:], out=owed_base)
    waits = np.flatnonzero(supplies.usable > np.maximum(supplies.arrives, 0))
    np.add.at(
        owed_base,
        (supplies.arrives[waits], supplies.row[waits]),
        supplies.amount_base[waits],
    )
    np.maximum(owed_base, 0.0, out=owed_base)
