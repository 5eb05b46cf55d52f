"""Which items will be missing, how much, for which cakes, and what still saves it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from planning.engine.deliveries import Delivery
from planning.engine.kitchen import FloatColumn, Kitchen, Window
from planning.engine.lacks.remedies import Lack, Market
from planning.engine.plan import Projection, Shortfall, ShortfallKind
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shelves.supplies import due_later_base

# The references whose need for a node, through any level, falls on one of the days.
CakesBehind = Callable[[int, Sequence[date]], Sequence[str]]


@dataclass(frozen=True, slots=True)
class Lacks:
    """What each row lacks on each day; rows as in the projection."""

    out_base: npt.NDArray[np.float64]
    safety_base: npt.NDArray[np.float64]
    par_base: FloatColumn  # when the last day is over

    def by_day(self, kind: ShortfallKind) -> npt.NDArray[np.float64]:
        """Return what is lacking of use or of safety, day by day."""
        return self.out_base if kind == ShortfallKind.OUT else self.safety_base

    def short_rows(self) -> list[int]:
        """Return the rows that are short in any way."""
        is_short = self.par_base >= LEAST_LACK_BASE
        is_short |= (self.out_base >= LEAST_LACK_BASE).any(axis=1)
        is_short |= (self.safety_base >= LEAST_LACK_BASE).any(axis=1)
        return [int(row) for row in np.flatnonzero(is_short)]

    def gravest(self, row: int) -> ShortfallKind:
        """Return the gravest way in which a row is short that is short at all."""
        for kind in (ShortfallKind.OUT, ShortfallKind.BELOW_SAFETY):
            if (self.by_day(kind)[row] >= LEAST_LACK_BASE).any():
                return kind
        return ShortfallKind.BELOW_PAR

    def most_base(self, row: int) -> float:
        """Return the most that a row lacks at any time, in any way."""
        by_day = max(self.out_base[row].max(), self.safety_base[row].max())
        return float(max(by_day, self.par_base[row]))


def lacks(
    kitchen: Kitchen,
    window: Window,
    nodes: Sequence[int],
    *,
    outstanding_base: npt.NDArray[np.float64],
    closing_base: npt.NDArray[np.float64],
) -> Lacks:
    """Return what some nodes lack; a row a node, a column a day."""
    concerned = np.asarray(nodes, dtype=np.int64)
    later_base = due_later_base(kitchen, window)[concerned]
    return Lacks(
        outstanding_base,
        kitchen.nodes.safety_base[concerned][:, None] - closing_base,
        kitchen.nodes.par_base[concerned] - closing_base[:, -1] - later_base,
    )


def find_shortfalls(
    kitchen: Kitchen,
    window: Window,
    projection: Projection,
    cakes_behind: CakesBehind,
    deliveries: Sequence[Delivery],
) -> tuple[Shortfall, ...]:
    """Return one row for each item that will be short, its gravest kind.

    Sorted by the first day of that kind, then by the item's name.
    """
    lacking = lacks(
        kitchen,
        window,
        projection.nodes,
        outstanding_base=projection.outstanding_base,
        closing_base=projection.closing_base,
    )
    market = Market(kitchen, deliveries)
    found = []
    for row in lacking.short_rows():
        if lacking.gravest(row) == ShortfallKind.BELOW_PAR:
            found.append(_below_par(projection, lacking, row, market))
        else:
            found.append(_short_by_day(projection, lacking, row, cakes_behind, market))
    # Rows come by name, and sorting keeps the order of equals.
    return tuple(sorted(found, key=lambda shortfall: shortfall.first_on))


def _below_par(
    projection: Projection, lacking: Lacks, row: int, market: Market
) -> Shortfall:
    node, kind, on = (
        projection.nodes[row],
        ShortfallKind.BELOW_PAR,
        projection.days[-1],
    )
    short_base = float(lacking.par_base[row])
    remedy = market.remedy(Lack(node, kind, on))
    return Shortfall(node, kind, on, short_base, (), remedy)


def _short_by_day(
    projection: Projection,
    lacking: Lacks,
    row: int,
    cakes_behind: CakesBehind,
    market: Market,
) -> Shortfall:
    node, kind = projection.nodes[row], lacking.gravest(row)
    short_days = np.flatnonzero(lacking.by_day(kind)[row] >= LEAST_LACK_BASE)
    days = [projection.days[day] for day in short_days.tolist()]
    return Shortfall(
        node,
        kind,
        days[0],
        float(lacking.by_day(kind)[row].max()),
        tuple(sorted(cakes_behind(node, days))),
        market.remedy(Lack(node, kind, days[0])),
    )
