"""The shelf day by day: what opens, comes in, is used, goes out of date and is left.

Stock and open orders only, never suggested ones, unless they are put among the
supplies. What could not be taken is owed and taken from the next amount that becomes
usable, so what is left may be less than nothing.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from planning.engine.expiry import expiring_rows, use_up
from planning.engine.kitchen import Kitchen, Window
from planning.engine.plan import Demand, Projection
from planning.engine.supplies import (
    ON_HAND,
    Shelf,
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
    shelf = read_shelf(kitchen, window)
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
    shelf: Shelf, window: Window, demand: Demand
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
    received_base, expired_base = np.zeros(used_base.shape), np.zeros(used_base.shape)
    ends_base = np.empty((len(used_base) + 1, used_base.shape[1]))
    np.negative(used_base, out=ends_base[1:])
    ends_base[0] = 0.0
    # Day -1, on hand, is the first row; so every day stands one row further down.
    np.add.at(ends_base, (supplies.arrives + 1, supplies.row), supplies.amount_base)
    np.subtract.at(ends_base, (gone.day + 1, gone.row), gone.amount_base)
    for day in range(len(used_base)):  # faster than np.cumsum along the days
        np.add(ends_base[day], ends_base[day + 1], out=ends_base[day + 1])
    comes = supplies.arrives > ON_HAND
    arrives, row = supplies.arrives[comes], supplies.row[comes]
    np.add.at(received_base, (arrives, row), supplies.amount_base[comes])
    expired_base[gone.day, gone.row] = gone.amount_base
    return ShelfDays(
        ends_base, received_base, expired_base, _outstanding(supplies, ends_base)
    )


def _outstanding(
    supplies: Supplies, ends_base: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Return what is owed at the end of each day.

    Something is owed only when nothing usable is left; what is left is then what
    cannot be used before tomorrow, less what is owed.
    """
    owed_base = np.negative(ends_base[1:])
    waits = np.flatnonzero(supplies.usable > np.maximum(supplies.arrives, 0))
    np.add.at(
        owed_base,
        (supplies.arrives[waits], supplies.row[waits]),
        supplies.amount_base[waits],
    )
    return np.maximum(owed_base, 0.0, out=owed_base)
