"""How long a projection takes, against a cumulative sum over the same days.

All times are in milliseconds. The bare sum starts from dense arrays that are already
there: opening stock, what is received and what is used, a row an item and a column a
day. The spread sum starts, as the projection does, from the columns of a shelf that
has been read and of the demand, and spreads them over the days first. Neither knows
lots, use-by or next-day deliveries, nor says what is received, goes out of date or is
outstanding each day.

`project` is timed from a shelf that has been read, `with reading` from the kitchen:
names sorted, dates turned into numbers. Run it with

    python -m tests.benchmarks.bench_projection
"""

import random
import statistics
from datetime import UTC, date, datetime, time, timedelta
from time import perf_counter

import numpy as np

from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    BakeryTerms,
    Kitchen,
    Lines,
    Nodes,
    OpenOrderLines,
    PlannedCakes,
    StockLots,
    SupplierTerms,
    Window,
)
from planning.engine.plan import Demand
from planning.engine.shelves.projection import project, project_shelf
from planning.engine.shelves.supplies import read_shelf

FROM_ON = date(2026, 5, 4)
SIZES = {"S": (60, 14), "M": (400, 28), "L": (3_000, 90)}  # items, days
DATED_SHARES = (0.0, 0.2, 0.5)  # of items whose stock and deliveries go out of date
USED_SHARE = 0.4  # of items and days on which an item is used
ORDERED_SHARE = 0.3  # of items on an open order
ROUNDS = 41
MOST_TIMES = 3.0
USUAL_SHARE = 0.2


def made_kitchen(items, days, dated_share, seed=7):
    """Return a kitchen, its window and its demand, made up from a seed."""
    rng = np.random.default_rng(seed)
    is_dated = rng.random(items) < dated_share
    keeps = np.where(is_dated, rng.integers(3, 30, items), NO_LIMIT_DAYS)
    lots = lots_of(rng, is_dated)
    window = Window(datetime(2026, 5, 4, 12, tzinfo=UTC), FROM_ON, days)
    no_ints, no_floats = np.zeros(0, dtype=np.int64), np.zeros(0)
    kitchen = Kitchen(
        bakery=BakeryTerms("America/New_York", "USD"),
        nodes=nodes_of(rng, keeps),
        lines=Lines(no_ints, no_ints, no_floats, no_floats, no_ints),
        cakes=PlannedCakes((), (), no_ints, (), no_floats, np.zeros(0, dtype=bool)),
        lots=lots,
        open_orders=orders_of(rng, items, days),
        suppliers=tuple(
            SupplierTerms(n, f"supplier {n}", (1, 4), 1, time(14), n % 2 == 0)
            for n in range(5)
        ),
    )
    return kitchen, window, demand_of(rng, items, days)


def nodes_of(rng, keeps):
    count = len(keeps)
    names = [f"Item {number:05d}" for number in range(count)]
    random.Random(7).shuffle(names)
    zeros, nothing = np.zeros(count), np.zeros(count, dtype=np.int64)
    return Nodes(
        ids=range(count),
        names=names,
        units=["g"] * count,
        kind=nothing,
        retired=np.zeros(count, dtype=bool),
        safety_base=rng.integers(0, 500, count).astype(float),
        par_base=rng.integers(500, 5_000, count).astype(float),
        keeps_days=keeps.astype(np.int64),
        whole=nothing - 1,
        part_yields_base=zeros,
        yield_base=zeros,
        batch_step=zeros,
        loss_fraction=zeros,
        lead_days=nothing,
        base_size=[""] * count,
        largest_batch=zeros,
    )


def lots_of(rng, is_dated):
    """Return one lot of an item that keeps and three of one that does not."""
    node = np.repeat(np.arange(len(is_dated)), np.where(is_dated, 3, 1))
    use_by = [
        FROM_ON + timedelta(days=int(ahead)) if is_dated[of] else None
        for of, ahead in zip(node, rng.integers(-3, 40, len(node)), strict=True)
    ]
    return StockLots(node, rng.integers(100, 9_000, len(node)).astype(float), use_by)


def orders_of(rng, items, days):
    count = int(items * ORDERED_SHARE)
    return OpenOrderLines(
        [f"O-{number}" for number in range(count)],
        rng.integers(0, 5, count),
        rng.integers(0, items, count),
        rng.integers(1_000, 20_000, count).astype(float),
        [FROM_ON + timedelta(days=int(n)) for n in rng.integers(-2, days, count)],
    )


def demand_of(rng, items, days):
    is_used = rng.random((days, items)) < USED_SHARE
    day, node = np.nonzero(is_used)
    return Demand(
        node,
        day + FROM_ON.toordinal(),
        rng.integers(1, 500, len(day)).astype(float),
        np.zeros(len(day), dtype=bool),
    )


def bare_sum(projection):
    """Return the cumulative sum, ready to be called, on dense copies."""
    opening = projection.opening_base[:, 0].copy()
    received = np.ascontiguousarray(projection.received_base)
    used = np.ascontiguousarray(projection.used_base)
    return lambda: opening[:, None] + np.cumsum(received - used, axis=1)


def spread_sum(shelf, window, demand):
    """Return the cumulative sum from columns, ready to be called."""
    supplies, rows, days = shelf.supplies, len(shelf.nodes), window.days
    first = window.from_on.toordinal()

    def call():
        cell = shelf.row_of_node[demand.node] * days + (demand.day - first)
        used = np.bincount(cell, demand.amount_base, minlength=rows * days)
        come = supplies.row * days + np.maximum(supplies.arrives, 0)
        there = np.bincount(come, supplies.amount_base, minlength=rows * days)
        return np.cumsum((there - used).reshape(rows, days), axis=1)

    return call


def median_ms(*calls):
    """Return the median time of each call, all taken in turns."""
    times = [[] for _ in calls]
    for call in calls:
        call()
    for _ in range(ROUNDS):
        for call, found in zip(calls, times, strict=True):
            start = perf_counter()
            call()
            found.append(1_000 * (perf_counter() - start))
    return [statistics.median(found) for found in times]


def measured(size, dated_share):
    """Print one line of the table; return how many times the two sums it takes."""
    items, days = SIZES[size]
    kitchen, window, demand = made_kitchen(items, days, dated_share)
    shelf = read_shelf(kitchen, window)
    bare, spread, projecting, reading = median_ms(
        bare_sum(project(kitchen, window, demand)),
        spread_sum(shelf, window, demand),
        lambda: project_shelf(shelf, window, demand),
        lambda: project(kitchen, window, demand),
    )
    lots = len(shelf.supplies.row)
    print(
        f"{size:<4} {items:>5} {days:>4} {dated_share:>5.0%} {lots:>5}"
        f" {bare:>7.3f} {spread:>7.3f} {projecting:>8.3f} {reading:>8.3f}"
        f" {projecting / bare:>13.2f} {projecting / spread:>7.2f}"
        f" {reading / bare:>13.2f} {reading / spread:>7.2f}"
    )
    return projecting / bare, projecting / spread


def main():
    """Print the table, and at which sizes the projection is as fast as asked for."""
    print("size items days dated  lots    bare  spread  project  reading", end="")
    print("  project/bare /spread  reading/bare /spread")
    for size in SIZES:
        for share in DATED_SHARES:
            of_bare, of_spread = measured(size, share)
            if share == USUAL_SHARE:
                said = "within" if of_bare <= MOST_TIMES else "not within"
                also = "within" if of_spread <= MOST_TIMES else "not within"
                print(f"     {said} {MOST_TIMES:g} times the bare sum, ", end="")
                print(f"{also} {MOST_TIMES:g} times the spread sum")


if __name__ == "__main__":
    main()
