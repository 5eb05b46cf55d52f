"""Which items will be missing, how much, for which cakes, and what still saves it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.par_days import FloatMatrix, ParTargets, par_targets
from planning.engine.plan import Projection, Remedy, Shortfall, ShortfallKind
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shelves.supplies import ShelfRows, read_shelf
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from planning.engine.shortfalls.sparing import OneShelf, sparing_remedy

BoolMatrix = npt.NDArray[np.bool_]

# The references whose need for a node, through any level, falls on one of the days.
CakesBehind = Callable[[int, Sequence[date]], Sequence[str]]
# A day as the column of a row, and a way in which the row is short on it.
Ways = Iterator[tuple[int, ShortfallKind]]


@dataclass(frozen=True, slots=True)
class Lacks:
    """What each row lacks on each day; rows as in the projection."""

    out_base: FloatMatrix
    safety_base: FloatMatrix
    to_par_base: FloatMatrix  # on par days, kept or not; else minus infinity
    par_base: FloatMatrix  # the same on par days that are not kept; else 0

    def by_day(self, kind: ShortfallKind) -> FloatMatrix:
        """Return what is lacking in one way, day by day."""
        if kind is ShortfallKind.OUT:
            return self.out_base
        return self.safety_base if kind is ShortfallKind.BELOW_SAFETY else self.par_base

    def is_short(self, kind: ShortfallKind) -> BoolMatrix:
        """Return on which days each row is short in one way, or in a graver one."""
        kinds = list(ShortfallKind)
        ways = kinds[: kinds.index(kind) + 1]
        is_short = np.zeros(self.out_base.shape, dtype=np.bool_)
        for way in ways:
            is_short |= self.by_day(way) >= LEAST_LACK_BASE
        return is_short

    def short_rows(self) -> list[int]:
        """Return the rows that are short in any way."""
        is_short = np.zeros(len(self.out_base), dtype=np.bool_)
        for kind in ShortfallKind:
            is_short |= (self.by_day(kind) >= LEAST_LACK_BASE).any(axis=1)
        return [int(row) for row in np.flatnonzero(is_short)]

    def rows_with_ways(self) -> Iterator[tuple[int, Ways]]:
        """Yield the short rows, each with its days and the ways in which it is short.

        The days are columns; on one day the graver way comes first.
        """
        kinds = tuple(ShortfallKind)
        lacking_base = np.stack([self.by_day(kind) for kind in kinds], axis=-1)
        rows, days, ways = np.nonzero(lacking_base >= LEAST_LACK_BASE)
        starts = np.flatnonzero(np.diff(rows, prepend=-1)).tolist()
        for start, stop in pairwise([*starts, len(rows)]):
            # Few of them are looked at, so that no list of pairs is made.
            in_ways = (kinds[way] for way in ways[start:stop].tolist())
            yield int(rows[start]), zip(days[start:stop].tolist(), in_ways, strict=True)

    def gravest(self, row: int) -> ShortfallKind:
        """Return the gravest way in which a row is short that is short at all."""
        for kind in ShortfallKind:
            if (self.by_day(kind)[row] >= LEAST_LACK_BASE).any():
                return kind
        return ShortfallKind.BELOW_PAR

    def most_base(self, row: int) -> float:
        """Return the most that a row lacks at any time, in any way."""
        return max(float(self.by_day(kind)[row].max()) for kind in ShortfallKind)


def lacks(
    kitchen: Kitchen,
    nodes: Sequence[int],
    par: ParTargets,
    *,
    outstanding_base: FloatMatrix,
    closing_base: FloatMatrix,
) -> Lacks:
    """Return what some nodes lack; a row a node, a column a day."""
    concerned = np.asarray(nodes, dtype=np.int64)
    to_par_base = par.full_base[concerned] - closing_base
    is_kept = par.least_base[concerned] - closing_base < LEAST_LACK_BASE
    return Lacks(
        outstanding_base,
        kitchen.nodes.safety_base[concerned][:, None] - closing_base,
        to_par_base,
        np.where(is_kept, 0.0, to_par_base),
    )


def level_base(
    kitchen: Kitchen, window: Window, par: ParTargets, lack: DatedShortfall
) -> float:
    """Return what has to stand there so that nothing lacks in the way of a lack."""
    if lack.kind is ShortfallKind.OUT:
        return 0.0
    if lack.kind is ShortfallKind.BELOW_SAFETY:
        return float(kitchen.nodes.safety_base[lack.node])
    return float(par.least_base[lack.node, (lack.on - window.from_on).days])


def find_shortfalls(
    kitchen: Kitchen,
    window: Window,
    projection: Projection,
    cakes_behind: CakesBehind,
    deliveries: Sequence[PossibleDelivery],
) -> tuple[Shortfall, ...]:
    """Return one row for each item that will be short, its gravest kind.

    Sorted by the first day of that kind, then by the item's name.
    """
    par = par_targets(kitchen, window, deliveries)
    lacking = lacks(
        kitchen,
        projection.nodes,
        par,
        outstanding_base=projection.outstanding_base,
        closing_base=projection.closing_base,
    )
    remedies = Remedies(kitchen, window, projection, par, Market(kitchen, deliveries))
    found = [
        _shortfall(projection, lacking, row, cakes_behind, remedies)
        for row in lacking.short_rows()
    ]
    # Rows come by name, and sorting keeps the order of equals.
    return tuple(sorted(found, key=lambda shortfall: shortfall.first_on))


def _shortfall(
    projection: Projection,
    lacking: Lacks,
    row: int,
    cakes_behind: CakesBehind,
    remedies: "Remedies",
) -> Shortfall:
    node, kind = projection.nodes[row], lacking.gravest(row)
    short_days = np.flatnonzero(lacking.by_day(kind)[row] >= LEAST_LACK_BASE)
    days = [projection.days[day] for day in short_days.tolist()]
    is_for_cakes = kind is not ShortfallKind.BELOW_PAR
    return Shortfall(
        node,
        kind,
        days[0],
        projection.days[int(np.argmax(lacking.by_day(kind)[row]))],
        float(lacking.by_day(kind)[row].max()),
        tuple(sorted(cakes_behind(node, days))) if is_for_cakes else (),
        remedies.of(DatedShortfall(node, kind, days[0]), row),
    )


@dataclass(frozen=True)
class Remedies:
    """Finds what still saves the rows of a projection: one kitchen, one window."""

    kitchen: Kitchen
    window: Window
    projection: Projection
    par: ParTargets
    market: Market

    @cached_property
    def _shelf(self) -> ShelfRows:
        return read_shelf(self.kitchen, self.window)

    def of(self, lack: DatedShortfall, row: int) -> Remedy | None:
        """Return the last delivery in date then; else one that spares older stock.

        `row` is the lack's row of the projection.
        """
        remedy = self.market.remedy(lack)
        if remedy is not None or not self.market.packs(lack.node):
            return remedy
        used_base = self.projection.used_base[row]
        shelf = OneShelf.of(
            self.kitchen, self.window, self._shelf, used_base, lack.node
        )
        level = level_base(self.kitchen, self.window, self.par, lack)
        return sparing_remedy(shelf, self.market, lack, level)
