"""What still lacks after some orders: the one place that decides it.

Whoever speaks of buying by hand, of what comes too late or of what no order helps asks
here, with the orders that are in force.

How a shortfall's figure comes about: what is wanted, less what is there.

Amounts are float64 in the item's base unit. From the first day that is short, below par
from the first day of the plan, to the day on which most is lacking.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from planning.engine.costing import packs_to_buy
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import BoolColumn, FloatColumn, Kitchen, Window
from planning.engine.plan import (
    Demand,
    Projection,
    Shortfall,
    ShortfallKind,
    SuggestedOrder,
)
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shortfalls.situations import Situation, delivery_of, read_situation


@dataclass(frozen=True, slots=True)
class StillLacking:
    """An item that lacks something in one way although the orders come."""

    node: int
    kind: ShortfallKind
    starts_on: tuple[date, ...]  # the first day of every unbroken run of days
    short_base: float  # the most that lacks on one of them
    is_sold: bool  # by anybody who delivers
    is_avoidable: bool  # whether more on some delivery would have helped
    is_ordered: bool  # whether any of it is on the orders
    late: PossibleDelivery | None = None  # of the orders: ends the run, a single one
    is_never_usable: bool = False  # out of date before its deliveries can be used

    @property
    def first_on(self) -> date:
        """The first day on which it lacks."""
        return self.starts_on[0]

    @property
    def there_on(self) -> date | None:
        """The day on which what comes late can help."""
        if self.late is None:
            return None
        is_out = self.kind is ShortfallKind.OUT
        return self.late.usable_on if is_out else self.late.deliver_on


def still_lacking(
    situation: Situation, orders: Sequence[SuggestedOrder]
) -> tuple[StillLacking, ...]:
    """Return what lacks when the orders have come, by item, the gravest way first.

    A day on which an item runs out is not told once more as one below safety, nor one
    below safety as one below par. A lack too small for any pack is none.
    """
    supplies = situation.with_orders(orders)
    lacking = situation.lacks(supplies, situation.all_rows)
    short = lacking.short_rows()
    rows = np.array(short, dtype=np.int64)
    flooded = situation.lacks(situation.flooded(supplies, rows), rows)
    bringing = _bringing(situation, orders)
    found: list[StillLacking] = []
    for place, row in enumerate(short):
        node = situation.shelf.nodes[row]
        told = np.zeros(situation.window.days, dtype=np.bool_)
        for kind in ShortfallKind:
            by_day = lacking.by_day(kind)[row]
            is_short = (by_day >= LEAST_LACK_BASE) & ~told
            if not is_short.any():
                continue
            told |= is_short
            is_lost = flooded.by_day(kind)[place] >= LEAST_LACK_BASE
            reader = _Reader(situation, bringing.get(node, ()), node, kind, by_day)
            found += reader.lost(is_short & is_lost)
            found += reader.avoidable(is_short & ~is_lost)
    return tuple(found)


def gravest(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    orders: Sequence[SuggestedOrder],
) -> dict[int, StillLacking]:
    """Return what lacks when the orders have come: of each node the gravest way."""
    situation = read_situation(kitchen, window, demand, deliveries)
    found = still_lacking(situation, orders)
    return {each.node: each for each in reversed(found)}


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads what one item still lacks in one way."""

    situation: Situation
    bringing: Sequence[PossibleDelivery]  # those of the orders that bring it
    node: int
    kind: ShortfallKind
    lacking_base: FloatColumn  # by day

    def lost(self, is_short: BoolColumn) -> Iterator[StillLacking]:
        """Yield the runs that a late delivery ends, each by itself, then the others."""
        others: list[slice] = []
        for run in _runs(is_short):
            late = self._late(run)
            if late is None:
                others.append(run)
            else:
                yield self._lacking([run], late=late)
        others = [run for run in others if not self._is_forgiven(run)]
        if others:
            yield self._lacking(others)

    def avoidable(self, is_short: BoolColumn) -> Iterator[StillLacking]:
        """Yield all runs that more on some delivery would have helped, as one."""
        runs = [run for run in _runs(is_short) if not self._is_forgiven(run)]
        if runs:
            yield self._lacking(runs, is_avoidable=True)

    def _lacking(
        self,
        runs: Sequence[slice],
        *,
        late: PossibleDelivery | None = None,
        is_avoidable: bool = False,
    ) -> StillLacking:
        days = self.situation.days
        return StillLacking(
            node=self.node,
            kind=self.kind,
            starts_on=tuple(days[run.start] for run in runs),
            short_base=max(float(self.lacking_base[run].max()) for run in runs),
            is_sold=bool(self.situation.market.packs(self.node)),
            is_avoidable=is_avoidable,
            is_ordered=bool(self.bringing),
            late=late,
            is_never_usable=self.situation.market.is_never_usable(self.node),
        )

    def _late(self, run: slice) -> PossibleDelivery | None:
        """Return the ordered delivery that ends a run of days, where one does."""
        days = self.situation.days
        if run.stop >= len(days):
            return None
        first_on, over_on = days[run.start], days[run.stop]
        for delivery in self.bringing:
            is_out = self.kind is ShortfallKind.OUT
            there_on = delivery.usable_on if is_out else delivery.deliver_on
            if first_on < there_on <= over_on:
                return delivery
        return None

    def _is_forgiven(self, run: slice) -> bool:
        """Whether a lack is so small a part of a pack that none is bought for it."""
        packs = self.situation.market.packs(self.node)
        most_base = float(self.lacking_base[run].max())
        return bool(packs) and all(
            packs_to_buy(most_base, pack).packs == 0 for pack in packs
        )


def _bringing(
    situation: Situation, orders: Sequence[SuggestedOrder]
) -> Mapping[int, Sequence[PossibleDelivery]]:
    """Return by node the deliveries that bring it, in the order of the orders."""
    found: dict[int, list[PossibleDelivery]] = defaultdict(list)
    for order in orders:
        delivery = delivery_of(situation.kitchen, order)
        for node in {line.pack.node for line in order.lines}:
            found[node].append(delivery)
    return found


def _runs(is_short: BoolColumn) -> Iterator[slice]:
    """Yield the unbroken runs of days."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], is_short, [False]])))
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield slice(start, stop)


@dataclass(frozen=True, slots=True)
class LackSum:
    """The lines of a lack: the wanted ones, less the others, are `short_base`."""

    from_on: date
    to_on: date
    used_base: float
    expired_base: float
    kept_base: float  # the safety or par that is to stay there
    waits_base: float  # has come, and may not be used before the next day
    opening_base: float
    received_base: float
    later_base: float  # par only: comes on open orders after the last of these days
    short_base: float


def lack_sum(kitchen: Kitchen, projection: Projection, lack: Shortfall) -> LackSum:
    """Return how the figure of a shortfall comes about."""
    row = projection.nodes.index(lack.node)
    kept_base = _kept_base(kitchen, lack)
    is_par = lack.kind is ShortfallKind.BELOW_PAR
    first = 0 if is_par else projection.days.index(lack.first_on)
    last = projection.days.index(lack.most_on)
    days = slice(first, last + 1)
    closing_base = float(projection.closing_base[row, last])
    waits_base = later_base = 0.0
    if lack.kind is ShortfallKind.OUT:
        waits_base = lack.short_base + closing_base
    elif is_par:
        later_base = kept_base - closing_base - lack.short_base
    return LackSum(
        from_on=projection.days[first],
        to_on=projection.days[last],
        used_base=float(projection.used_base[row, days].sum()),
        expired_base=float(projection.expired_base[row, days].sum()),
        kept_base=kept_base,
        waits_base=waits_base,
        opening_base=float(projection.opening_base[row, first]),
        received_base=float(projection.received_base[row, days].sum()),
        later_base=later_base,
        short_base=lack.short_base,
    )


def _kept_base(kitchen: Kitchen, lack: Shortfall) -> float:
    if lack.kind is ShortfallKind.OUT:
        return 0.0
    levels = kitchen.nodes.safety_base
    if lack.kind is ShortfallKind.BELOW_PAR:
        levels = kitchen.nodes.par_base
    return float(levels[lack.node])
