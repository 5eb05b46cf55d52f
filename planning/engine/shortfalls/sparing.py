"""How goods that go out of date before a lack still help: they spare what keeps longer.

Stock is used first in, first out by date. Cream that keeps three days, brought on
Monday, leaves the cream that keeps two weeks for Friday. Whether and how far it does is
found by trying: the item's shelf is followed with more on one delivery or on many.

Amounts are float64 in the item's base unit.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
import numpy.typing as npt

from planning.engine.costing import ROUND_UP_TOLERANCE_PACKS, PackCount, packs_to_buy
from planning.engine.deliveries import PossibleDelivery, is_in_date
from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    Kitchen,
    PackTerms,
    Window,
)
from planning.engine.plan import Remedy, ShortfallKind
from planning.engine.shelves.projection import LEAST_LACK_BASE, ShelfDays, shelf_days
from planning.engine.shelves.supplies import (
    ShelfRows,
    Supplies,
    join,
    only_row,
    use_by_days,
)
from planning.engine.shortfalls.remedies import DatedShortfall, Market, arrives_by

# A delivery that changes a lack by less than this does not help.
LEAST_HELP_BASE = LEAST_LACK_BASE / 2

Matrix = npt.NDArray[np.float64]
Offer = tuple[PackTerms, PossibleDelivery]
Load = tuple[PossibleDelivery, float]  # so much on one delivery


@dataclass(frozen=True)
class OneShelf:
    """The shelf of one item by itself, with all that comes so far."""

    kitchen: Kitchen
    node: int
    from_on: date
    supplies: Supplies  # all of row 0
    used_base: Matrix  # a row a day, one column

    @classmethod
    def of(
        cls,
        kitchen: Kitchen,
        window: Window,
        shelf: ShelfRows,
        used_base: Matrix,
        node: int,
    ) -> "OneShelf":
        """Return the shelf of a node; `used_base` is its use by day."""
        return cls(
            kitchen,
            node,
            window.from_on,
            only_row(shelf.supplies, int(shelf.row_of_node[node])),
            used_base.reshape(-1, 1),
        )

    def plenty_base(self) -> float:
        """Return more than the item could ever want on one delivery."""
        nodes = self.kitchen.nodes
        owed_base = np.maximum(-self.supplies.amount_base, 0.0).sum()
        levels_base = nodes.safety_base[self.node] + nodes.par_base[self.node]
        return float(2 * (self.used_base.sum() + owed_base + levels_base) + 1)

    def with_loads(self, loads: Sequence[Load]) -> "OneShelf":
        """Return the shelf with more on some deliveries."""
        first = self.from_on.toordinal()
        keeps_days = int(self.kitchen.nodes.keeps_days[self.node])
        arrives = np.array([d.deliver_on.toordinal() - first for d, _ in loads], int)
        more = Supplies(
            row=np.zeros(len(loads), dtype=np.int64),
            amount_base=np.array([amount_base for _, amount_base in loads]),
            arrives=arrives,
            usable=np.array([d.usable_on.toordinal() - first for d, _ in loads], int),
            use_by=use_by_days(arrives, np.full(len(loads), keeps_days)),
        )
        supplies = join(self.supplies, more)
        return OneShelf(self.kitchen, self.node, self.from_on, supplies, self.used_base)

    def short_base(self, lack: DatedShortfall, level_base: float) -> float:
        """Return what is lacking on the day and in the way of a lack.

        `level_base` is what is to stand there: safety, or what keeps par.
        """
        day = (lack.on - self.from_on).days
        if lack.kind is ShortfallKind.OUT:
            return float(self._days.outstanding_base[day, 0])
        return level_base - float(self._days.ends_base[day + 1, 0])

    @cached_property
    def _days(self) -> ShelfDays:
        return shelf_days(self.supplies, self.used_base)


@dataclass(frozen=True, slots=True)
class Spared:
    """So many packs on a delivery that spare older stock, and what they spare of it."""

    pack: PackTerms
    delivery: PossibleDelivery
    count: PackCount
    spared_base: float


def sparing_purchase(
    shelf: OneShelf, market: Market, lack: DatedShortfall, level_base: float
) -> Spared | None:
    """Return the fewest packs on the last delivery that shortens a lack by sparing.

    Of the pack liked best that can do it; None where none can.
    """
    offers = sparing_offers(shelf, market, lack)
    if not offers:
        return None
    now_base = shelf.short_base(lack, level_base)
    best_base = _short_with_plenty(shelf, offers, lack, level_base)
    if now_base - max(best_base, 0.0) < LEAST_HELP_BASE:
        return None
    for pack, delivery in offers:
        alone_base = _short_with_plenty(shelf, [(pack, delivery)], lack, level_base)
        least_base = max(alone_base, 0.0)
        spared_base = now_base - least_base
        is_worth_a_pack = packs_to_buy(spared_base, pack).packs > 0
        if spared_base >= LEAST_HELP_BASE and is_worth_a_pack:
            count = _fewest(shelf, pack, delivery, lack, level_base, least_base)
            return Spared(pack, delivery, count, spared_base)
    return None


def sparing_remedy(
    shelf: OneShelf, market: Market, lack: DatedShortfall, level_base: float
) -> Remedy | None:
    """Return the delivery by whose cut-off an order still removes a lack by sparing.

    Deliveries are taken together from the one that leaves most time to order on, until
    they remove it; the last of them is what has to be ordered first.
    """
    offers = sparing_offers(shelf, market, lack)
    taken: list[Offer] = []
    # The sort is stable: equals stay in order of preference.
    for pack, delivery in sorted(
        offers, key=lambda offer: -offer[1].order_by.timestamp()
    ):
        taken.append((pack, delivery))
        if _short_with_plenty(shelf, taken, lack, level_base) < LEAST_LACK_BASE:
            return Remedy(pack.supplier, pack, delivery.order_by, delivery.deliver_on)
    return None


def sparing_offers(
    shelf: OneShelf, market: Market, lack: DatedShortfall
) -> list[Offer]:
    """Return what comes early enough but is out of date: liked best, then latest.

    None where nothing is there for the day that could be spared.
    """
    day = (lack.on - shelf.from_on).days
    keeps_days = int(shelf.kitchen.nodes.keeps_days[shelf.node])
    if keeps_days == NO_LIMIT_DAYS or not (shelf.supplies.use_by >= day).any():
        return []
    return [
        (pack, delivery)
        for pack in market.packs(shelf.node)
        for delivery in reversed(market.deliveries(pack))
        if arrives_by(delivery, lack)
        and not is_in_date(keeps_days, delivery.deliver_on, lack.on)
    ]


def _short_with_plenty(
    shelf: OneShelf, offers: Sequence[Offer], lack: DatedShortfall, level_base: float
) -> float:
    """Return what a lack comes to with more than enough on some deliveries."""
    plenty_base = shelf.plenty_base()
    loads = [(delivery, plenty_base) for _, delivery in offers]
    return shelf.with_loads(loads).short_base(lack, level_base)


def _fewest(
    shelf: OneShelf,
    pack: PackTerms,
    delivery: PossibleDelivery,
    lack: DatedShortfall,
    level_base: float,
    least_base: float,
) -> PackCount:
    """Return the fewest packs on a delivery that shorten a lack as far as it can."""
    slack_base = max(LEAST_HELP_BASE / 2, ROUND_UP_TOLERANCE_PACKS * pack.size_base)

    def is_enough(packs: int) -> bool:
        loaded = shelf.with_loads([(delivery, packs * pack.size_base)])
        return loaded.short_base(lack, level_base) <= least_base + slack_base

    low, high = 0, packs_to_buy(shelf.plenty_base(), pack).for_need
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if is_enough(middle) else (middle, high)
    return packs_to_buy(high * pack.size_base, pack)
