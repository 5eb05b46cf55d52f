"""What a buyer following the usual rule takes of each item, before any minimum order.

Round by round: the shelf is projected with what is bought so far, and each item that
still lacks something gets packs at the last delivery in time for its first lack, as
many as it needs up to the next par day, as far as they keep. So an item that keeps is
bought once a par day, a perishable one again and again. Where nothing in date can come
in time, goods that are used first and so spare older stock are bought earlier.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import NamedTuple

import numpy as np

from planning.engine.costing import PackCount, packs_to_buy
from planning.engine.deliveries import PossibleDelivery, use_by_on
from planning.engine.kitchen import NO_LIMIT_DAYS, BoolColumn, PackTerms
from planning.engine.plan import ShortfallKind
from planning.engine.shelves.supplies import Bought, Supplies
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from planning.engine.shortfalls.shortfalls import Lacks, Ways
from planning.engine.shortfalls.situations import Situation
from planning.engine.shortfalls.sparing import OneShelf, sparing_purchase


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many packs of one kind for one lack, and what it was reckoned from."""

    pack: PackTerms
    delivery: PossibleDelivery
    count: PackCount
    lack: DatedShortfall
    need_base: float
    covers_to: date  # the last day of the window on which it is needed and in date
    late_days: int = 0
    passed_over: PackTerms | None = None  # liked better, but not in time
    # In time too, liked less.
    next_best: tuple[PackTerms, PossibleDelivery] | None = None
    is_to_par: bool = False  # par on the last day is what most of it is for
    is_sparing: bool = False  # out of date by then: used first, it spares other stock

    @property
    def bought(self) -> Bought:
        """The packs on their delivery."""
        return self.pack, self.count.packs, self.delivery


class Need(NamedTuple):
    """How much is to be bought, and whether it is par that asks for it."""

    base: float
    is_to_par: bool


@dataclass(slots=True)
class Basket:
    """The purchases so far, and the shelf as they make it."""

    situation: Situation
    supplies: Supplies
    purchases: list[Purchase] = field(default_factory=list)
    # What nothing helps. It never does later on: what comes in time stays the same,
    # and more on the shelf spares less.
    unhelped: set[DatedShortfall] = field(default_factory=set)

    def add(self, purchases: Sequence[Purchase]) -> None:
        """Put purchases into the basket and on the shelf."""
        self.purchases += purchases
        self.supplies = self.situation.with_bought(
            [purchase.bought for purchase in purchases], self.supplies
        )


def fill_basket(
    situation: Situation,
    market: Market,
    supplies: Supplies | None = None,
    *,
    shops: Market | None = None,
) -> Basket:
    """Return everything that has to be bought, item by item.

    `supplies` is what stands there and comes already: left out, the situation's own.
    `shops` sell what nobody on the market can deliver in time.
    """
    basket = Basket(situation, supplies or situation.shelf.supplies)
    covered_to: dict[int, date] = {}
    rows = situation.all_rows
    while len(rows):
        lacking = situation.lacks(basket.supplies, rows)
        found = {}
        for place, ways in lacking.rows_with_ways():
            row = int(rows[place])
            chooser = Chooser(basket, market, shops, lacking, place, row)
            purchase = chooser.choose(ways, covered_to.get(row))
            if purchase is not None:
                found[row] = purchase
                covered_to[row] = purchase.covers_to
        basket.add(list(found.values()))
        rows = np.array(list(found), dtype=np.int64)
    return basket


@dataclass(frozen=True)
class Chooser:
    """Chooses the next purchase for one row."""

    basket: Basket
    market: Market
    shops: Market | None
    lacking: Lacks
    place: int  # of the row among the lacks
    row: int

    @cached_property
    def node(self) -> int:
        """The item of the row."""
        return self.basket.situation.shelf.nodes[self.row]

    @cached_property
    def _shelf(self) -> OneShelf:
        """The row's shelf: nothing is put on it while a purchase is chosen."""
        return self.basket.situation.one_shelf(self.basket.supplies, self.row)

    def choose(self, ways: Ways, covered_to: date | None) -> Purchase | None:
        """Return packs for the first lack that a delivery is in time for.

        `ways` are the days on which the row is short, and how, as the lacks say them.
        """
        days, unhelped = self.basket.situation.days, self.basket.unhelped
        so_far: list[DatedShortfall] = []
        for day, kind in ways:
            lack = DatedShortfall(self.node, kind, days[day])
            so_far.append(lack)
            if lack in unhelped:
                continue
            purchase = self._in_date(self.market, so_far, covered_to)
            purchase = purchase or self._sparing(lack)
            if purchase is None and self.shops is not None:
                purchase = self._in_date(self.shops, so_far, covered_to)
            if purchase is not None:
                return purchase
            unhelped.add(lack)
        return None

    def _in_date(
        self,
        market: Market,
        lacks_by_day: Sequence[DatedShortfall],
        covered_to: date | None,
    ) -> Purchase | None:
        """Return packs that come in time for the last of some lacks, and in date."""
        lack = lacks_by_day[-1]
        offers = market.in_time(lack)
        offer = next(offers, None)
        if offer is None:
            return None
        pack, delivery = offer
        covers_to = self._covers_to(delivery, lack)
        need = self._need(delivery, covers_to)
        there = self.basket.situation.decided_packs(pack, delivery)
        count = packs_to_buy(need.base, pack, there)
        if not count.packs:
            return None
        first = self._start_of_run(lacks_by_day, covered_to)
        liked_best = market.packs(self.node)[0]
        return Purchase(
            pack,
            delivery,
            count,
            first,
            need.base,
            covers_to,
            is_to_par=need.is_to_par,
            late_days=_late_days(delivery, first),
            passed_over=None if liked_best is pack else liked_best,
            next_best=next(offers, None),
        )

    def _sparing(self, lack: DatedShortfall) -> Purchase | None:
        """Return packs that come early, are used first and so spare older stock."""
        situation = self.basket.situation
        if situation.kitchen.nodes.keeps_days[self.node] == NO_LIMIT_DAYS:
            return None  # nothing of it goes out of date and leaves older stock
        level_base = situation.level_base(lack)
        found = sparing_purchase(self._shelf, self.market, lack, level_base)
        if found is None:
            return None
        return Purchase(
            found.pack,
            found.delivery,
            found.count,
            lack,
            found.spared_base,
            self._last_in_date(found.delivery),
            is_sparing=True,
        )

    def _covers_to(self, delivery: PossibleDelivery, lack: DatedShortfall) -> date:
        """Return the last day for which is bought: the next par day, if in date."""
        days = self.basket.situation.days
        first = (lack.on - days[0]).days
        ahead = np.flatnonzero(self._is_par_day()[first:])
        last = days[first + int(ahead[0])] if len(ahead) else days[-1]
        return min(last, self._last_in_date(delivery))

    def _last_in_date(self, delivery: PossibleDelivery) -> date:
        situation = self.basket.situation
        keeps_days = int(situation.kitchen.nodes.keeps_days[self.node])
        use_by = use_by_on(keeps_days, delivery.deliver_on)
        last = situation.days[-1]
        return last if use_by is None else min(use_by, last)

    def _is_par_day(self) -> BoolColumn:
        return np.asarray(np.isfinite(self.lacking.to_par_base[self.place]))

    def _need(self, delivery: PossibleDelivery, covers_to: date) -> Need:
        """Return the most that is lacking while a delivery is there and in date."""
        first = self.basket.situation.days[0]
        stop = (covers_to - first).days + 1
        usable = (delivery.usable_on - first).days
        arrives = (delivery.deliver_on - first).days
        lacking = self.lacking
        for_use_base = max(
            lacking.out_base[self.place, usable:stop].max(initial=0.0),
            lacking.safety_base[self.place, arrives:stop].max(initial=0.0),
        )
        to_par_base = lacking.to_par_base[self.place, arrives:stop].max(initial=0.0)
        return Need(
            float(max(for_use_base, to_par_base)), bool(to_par_base > for_use_base)
        )

    @staticmethod
    def _start_of_run(
        lacks_by_day: Sequence[DatedShortfall], covered_to: date | None
    ) -> DatedShortfall:
        """Return where the unbroken run of days begins that ends with the last lack.

        Days covered by an earlier purchase do not count.
        """
        start = lacks_by_day[-1]
        for lack in reversed(lacks_by_day):
            is_covered = covered_to is not None and lack.on <= covered_to
            if is_covered or (start.on - lack.on).days > 1:
                break
            start = lack
        return start


def _late_days(delivery: PossibleDelivery, lack: DatedShortfall) -> int:
    is_out = lack.kind == ShortfallKind.OUT
    there_on = delivery.usable_on if is_out else delivery.deliver_on
    return max(0, (there_on - lack.on).days)
