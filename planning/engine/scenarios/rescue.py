"""What no delivery can save any more, and what else could: bought by hand, or left.

A lack counts where it would stand even with any number of packs on every delivery that
can still be ordered. The alternatives are only said, never done.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from planning.engine.deliveries import PossibleDelivery
from planning.engine.demand.explosion import Explosion
from planning.engine.kitchen import FloatColumn, Kitchen, NodeKind, Window
from planning.engine.scenarios.one_more import leave_out, some_rows
from planning.engine.shelves.projection import LEAST_LACK_BASE, shelf_days, used_by_day
from planning.engine.shelves.supplies import (
    Bought,
    ShelfRows,
    Supplies,
    bought_supplies,
    join,
    read_shelf,
    window_days,
)
from planning.engine.shortfalls.remedies import Market

ByDay = npt.NDArray[np.float64]  # a row a day, a column an item

MOST_CAKES_TRIED = 12  # each is netted again
MOST_BATCHES_SAID = 3
# Of what is lacking: what spares less, a cake or a batch, is no way out.
LEAST_SPARED_FRACTION = 0.05


@dataclass(frozen=True, slots=True)
class Dropped:
    """A tentative cake: what would still be lacking without it."""

    reference: str
    left_base: float


@dataclass(frozen=True, slots=True)
class SmallerBatch:
    """A batch that is rounded up: making only what is needed spares some."""

    recipe: int
    on: date
    surplus_base: float  # of the recipe
    spared_base: float  # of what is lacking


@dataclass(frozen=True, slots=True)
class Lost:
    """An item that runs out before any delivery can bring it."""

    node: int
    by_day: tuple[tuple[date, float], ...]  # what is to be got, and by when; base
    is_sold: bool
    cakes: tuple[str, ...]

    @property
    def first_on(self) -> date:
        """The first day on which some is lacking."""
        return self.by_day[0][0]

    @property
    def short_base(self) -> float:
        """What is to be got in all."""
        return sum(lacking_base for _, lacking_base in self.by_day)


@dataclass(frozen=True, slots=True)
class LostWithRemedies:
    """The same, with what could be done instead of buying it."""

    lost: Lost
    drops: tuple[Dropped, ...]
    smaller: tuple[SmallerBatch, ...]


def find_lost(
    explosion: Explosion, window: Window, deliveries: Sequence[PossibleDelivery]
) -> tuple[Lost, ...]:
    """Return what no delivery can save, by day, then by name."""
    return tuple(_Rescue(explosion, window, deliveries).find())


def find_unsaved(
    explosion: Explosion,
    window: Window,
    deliveries: Sequence[PossibleDelivery],
    lost: Iterable[Lost],
) -> tuple[LostWithRemedies, ...]:
    """Return what could be done instead of buying what is lost, in the same order."""
    rescue = _Rescue(explosion, window, deliveries)
    return tuple(rescue.ways_out(each) for each in lost)


class _Rescue:
    def __init__(
        self,
        explosion: Explosion,
        window: Window,
        deliveries: Sequence[PossibleDelivery],
    ) -> None:
        self._explosion = explosion
        self._window = window
        self._kitchen: Kitchen = explosion.prepared.kitchen
        self._market = Market(self._kitchen, deliveries)
        self._shelf = read_shelf(self._kitchen, window)
        self._used_base = used_by_day(self._shelf, window, explosion.demand)
        self._days = window_days(window)

    def find(self) -> Iterator[Lost]:
        """Yield what is lacking with anything ordered that can be."""
        lacking_base = self._lacking(self._shelf, self._used_base)
        rows = np.flatnonzero((lacking_base >= LEAST_LACK_BASE).any(axis=0))
        nodes = [self._shelf.nodes[row] for row in rows.tolist()]
        to_get_base = self._to_get(
            some_rows(self._shelf, nodes), self._used_base[:, rows]
        )
        first = np.argmax(to_get_base > 0, axis=0)
        for place in np.argsort(first, kind="stable").tolist():
            node, lacking = nodes[place], lacking_base[:, rows[place]]
            days = np.flatnonzero(lacking >= LEAST_LACK_BASE).tolist()
            cakes = self._explosion.cakes_behind(node, [self._days[d] for d in days])
            yield Lost(
                node=node,
                by_day=tuple(self._by_day(to_get_base[:, place])),
                is_sold=bool(self._market.packs(node)),
                cakes=tuple(sorted(cakes)),
            )

    def ways_out(self, lost: Lost) -> LostWithRemedies:
        """Return what could be done instead of buying an item by hand."""
        last_on, _ = lost.by_day[-1]
        return LostWithRemedies(
            lost=lost,
            drops=tuple(self._drops(lost)),
            smaller=self._smaller_batches(lost.node, last_on, lost.short_base),
        )

    def _by_day(self, to_get_base: FloatColumn) -> Iterator[tuple[date, float]]:
        for day in np.flatnonzero(to_get_base).tolist():
            yield self._days[day], float(to_get_base[day])

    def _lacking(self, shelf: ShelfRows, used_base: ByDay) -> ByDay:
        """Return what is outstanding with plenty of everything on every delivery."""
        supplies = self._with_plenty(shelf, used_base)
        return shelf_days(supplies, used_base).outstanding_base

    def _to_get(self, shelf: ShelfRows, used_base: ByDay) -> ByDay:
        """Return what is to be got by hand, day by day, whatever deliveries bring.

        What is got on a day is used on it, so that a lack is counted once, on the day
        on which it begins.
        """
        supplies = self._with_plenty(shelf, used_base)
        to_get_base: ByDay = np.zeros_like(used_base)
        for _ in self._days:  # each time the first day on which a row is lacking
            lacking_base = shelf_days(supplies, used_base).outstanding_base
            is_lacking = lacking_base >= LEAST_LACK_BASE
            if not is_lacking.any():
                break
            rows = np.flatnonzero(is_lacking.any(axis=0))
            first = np.argmax(is_lacking[:, rows], axis=0)
            got_base = lacking_base[first, rows]
            to_get_base[first, rows] += got_base
            supplies = join(supplies, Supplies(rows, got_base, first, first, first))
        return to_get_base

    def _with_plenty(self, shelf: ShelfRows, used_base: ByDay) -> Supplies:
        """Return the supplies, with plenty of everything on every delivery."""
        plenty: list[Bought] = []
        for place, node in enumerate(shelf.nodes):
            most_base = 2 * float(used_base[:, place].sum()) + self._owed_base(node)
            if not most_base:
                continue
            for pack in self._market.packs(node):
                packs = int(most_base / pack.size_base) + 1
                plenty += [(pack, packs, d) for d in self._market.deliveries(pack)]
        if not plenty:
            return shelf.supplies
        more = bought_supplies(self._kitchen, self._window, shelf, plenty)
        return join(shelf.supplies, more)

    def _owed_base(self, node: int) -> float:
        lots = self._kitchen.lots
        of_node = lots.amount_base[lots.node == node]
        return float(np.maximum(-of_node, 0.0).sum())

    def _drops(self, lost: Lost) -> Iterator[Dropped]:
        """Yield the tentative cakes that spare some, each with what is lacking then."""
        node, most_left_base = lost.node, lost.short_base - _least_base(lost.short_base)
        planned = self._kitchen.cakes
        tentative = {
            reference
            for reference, is_tentative in zip(
                planned.references, planned.tentative.tolist(), strict=True
            )
            if is_tentative
        }
        found = [reference for reference in lost.cakes if reference in tentative]
        for reference in found[:MOST_CAKES_TRIED]:
            change = leave_out(self._explosion, self._window, self._shelf, reference)
            if node not in change.nodes:
                continue
            only = change.only(node)
            alone = some_rows(self._shelf, (node,))
            left_base = float(self._to_get(alone, only.used_base).sum())
            if left_base <= most_left_base:
                yield Dropped(reference, left_base)

    def _smaller_batches(
        self, node: int, last_on: date, short_base: float
    ) -> tuple[SmallerBatch, ...]:
        """Return the rounded batches that would spare most of what is lacking."""
        least_base = _least_base(short_base)
        found = [
            batch
            for batch in self._rounded_batches(node, last_on)
            if batch.spared_base >= least_base
        ]
        found.sort(key=lambda batch: -batch.spared_base)
        return tuple(found[:MOST_BATCHES_SAID])

    def _rounded_batches(self, node: int, last_on: date) -> Iterator[SmallerBatch]:
        """Yield the rounded batches that take the item while it is lacking."""
        bill, nodes = self._explosion.prepared.bill, self._kitchen.nodes
        lines = np.flatnonzero(bill.line_component == node)
        per_batch_base: dict[int, float] = {}
        for line in lines.tolist():
            recipe = int(bill.taker_node[bill.line_taker[line]])
            amount_base = float(bill.line_amount_base[line])
            per_batch_base[recipe] = per_batch_base.get(recipe, 0.0) + amount_base
        for made in self._explosion.making:
            is_concerned = made.node in per_batch_base and made.on <= last_on
            is_made = nodes.kind[made.node] == NodeKind.MADE
            if not (is_concerned and is_made and made.surplus_base > 0):
                continue
            batches = made.surplus_base / float(nodes.net_yield_base(made.node))
            spared_base = batches * per_batch_base[made.node]
            yield SmallerBatch(made.node, made.on, made.surplus_base, spared_base)


def _least_base(short_base: float) -> float:
    """Return the least that a way out has to spare of what is lacking."""
    return max(LEAST_LACK_BASE, LEAST_SPARED_FRACTION * short_base)
