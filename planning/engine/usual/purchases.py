"""What a buyer following the usual rule takes of each item, before any minimum order.

Round by round: the shelf is projected with what is bought so far, and each item that
still lacks something gets packs at the last delivery in time for its first lack, as
many as the plan needs of it for as long as they keep. So an item that keeps is bought
once, a perishable one again and again.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from planning.engine.costing import PackCount, packs_to_buy
from planning.engine.deliveries import Delivery, use_by_on
from planning.engine.kitchen import IntColumn, Kitchen, PackTerms, Window
from planning.engine.lacks.remedies import Lack, Market
from planning.engine.lacks.shortfalls import Lacks, lacks
from planning.engine.par_days import ParTargets
from planning.engine.plan import Demand, ShortfallKind
from planning.engine.shelves.projection import (
    LEAST_LACK_BASE,
    ShelfDays,
    shelf_days,
    used_by_day,
)
from planning.engine.shelves.supplies import (
    Shelf,
    Supplies,
    bought_supplies,
    join,
    only_rows,
    read_shelf,
    window_days,
)


@dataclass(frozen=True, slots=True)
class Purchase:
    """So many packs of one kind for one lack, and what it was reckoned from."""

    pack: PackTerms
    delivery: Delivery
    count: PackCount
    lack: Lack
    need_base: float
    covers_to: date  # the last day of the window on which it is needed and in date
    late_days: int = 0
    passed_over: PackTerms | None = None  # liked better, but not in time
    next_best: tuple[PackTerms, Delivery] | None = None  # in time too, liked less


@dataclass(slots=True)
class Basket:
    """The purchases so far, and the shelf as they make it."""

    kitchen: Kitchen
    window: Window
    shelf: Shelf
    used_base: npt.NDArray[np.float64]  # a row a day, a column an item
    supplies: Supplies
    par: ParTargets
    purchases: list[Purchase] = field(default_factory=list)

    def figures(self, rows: IntColumn) -> ShelfDays:
        """Return some rows of the shelf, with what is bought."""
        place = np.full(len(self.shelf.nodes) + 1, len(rows), dtype=np.int64)
        place[rows] = np.arange(len(rows))
        mine = self.supplies
        moved = replace(mine, row=place[mine.row])
        return shelf_days(only_rows(moved, len(rows)), self.used_base[:, rows])

    def lacks(self, rows: IntColumn) -> Lacks:
        """Return what some rows still lack."""
        figures = self.figures(rows)
        return lacks(
            self.kitchen,
            [self.shelf.nodes[row] for row in rows],
            self.par,
            outstanding_base=figures.outstanding_base.T,
            closing_base=figures.ends_base[1:].T,
        )

    def add(self, purchases: Sequence[Purchase]) -> None:
        """Put purchases into the basket and on the shelf."""
        self.purchases += purchases
        bought = [
            (purchase.pack, purchase.count.packs, purchase.delivery)
            for purchase in purchases
        ]
        self.supplies = join(
            self.supplies,
            bought_supplies(self.kitchen, self.window, self.shelf, bought),
        )


def fill_basket(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    market: Market,
    par: ParTargets,
) -> Basket:
    """Return everything that has to be bought, item by item."""
    shelf = read_shelf(kitchen, window)
    used_base = used_by_day(shelf, window, demand)
    basket = Basket(kitchen, window, shelf, used_base, shelf.supplies, par)
    days = window_days(window)
    covered_to: dict[int, date] = {}
    rows = np.arange(len(shelf.nodes))
    while len(rows):
        lacking = basket.lacks(rows)
        found = {}
        for place in lacking.short_rows():
            row = int(rows[place])
            chooser = Chooser(kitchen, days, market, lacking, place)
            purchase = chooser.choose(shelf.nodes[row], covered_to.get(row))
            if purchase is not None:
                found[row] = purchase
                covered_to[row] = purchase.covers_to
        basket.add(list(found.values()))
        rows = np.array(list(found), dtype=np.int64)
    return basket


@dataclass(frozen=True, slots=True)
class Chooser:
    """Chooses the next purchase for one row."""

    kitchen: Kitchen
    days: Sequence[date]
    market: Market
    lacking: Lacks
    place: int  # of the row among the lacks

    def choose(self, node: int, covered_to: date | None) -> Purchase | None:
        """Return packs for the first lack that a delivery is in time for."""
        lacks_by_day = list(self._lacks(node))
        for number, lack in enumerate(lacks_by_day):
            offers = self.market.in_time(lack)
            offer = next(offers, None)
            if offer is None:
                continue
            pack, delivery = offer
            covers_to = self._covers_to(node, delivery)
            need_base = self._need_base(delivery, covers_to)
            count = packs_to_buy(need_base, pack)
            if not count.packs:
                continue
            first = self._start_of_run(lacks_by_day[: number + 1], covered_to)
            liked_best = self.market.packs(node)[0]
            return Purchase(
                pack,
                delivery,
                count,
                first,
                need_base,
                covers_to,
                late_days=_late_days(delivery, first),
                passed_over=None if liked_best is pack else liked_best,
                next_best=next(offers, None),
            )
        return None

    def _lacks(self, node: int) -> Iterator[Lack]:
        """Yield what the row lacks, by day, the graver first."""
        short = {
            kind: self.lacking.by_day(kind)[self.place] >= LEAST_LACK_BASE
            for kind in ShortfallKind
        }
        for day, on in enumerate(self.days):
            for kind, is_short in short.items():
                if is_short[day]:
                    yield Lack(node, kind, on)

    def _covers_to(self, node: int, delivery: Delivery) -> date:
        keeps_days = int(self.kitchen.nodes.keeps_days[node])
        use_by = use_by_on(keeps_days, delivery.deliver_on)
        last = self.days[-1]
        return last if use_by is None else min(use_by, last)

    def _need_base(self, delivery: Delivery, covers_to: date) -> float:
        """Return the most that is lacking while a delivery is there and in date."""
        first = self.days[0]
        stop = (covers_to - first).days + 1
        usable = (delivery.usable_on - first).days
        arrives = (delivery.deliver_on - first).days
        lacking_base = [
            self.lacking.out_base[self.place, usable:stop].max(initial=0.0),
            self.lacking.safety_base[self.place, arrives:stop].max(initial=0.0),
            self.lacking.to_par_base[self.place, arrives:stop].max(initial=0.0),
        ]
        return float(max(lacking_base))

    @staticmethod
    def _start_of_run(lacks_by_day: Sequence[Lack], covered_to: date | None) -> Lack:
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


def _late_days(delivery: Delivery, lack: Lack) -> int:
    is_out = lack.kind == ShortfallKind.OUT
    there_on = delivery.usable_on if is_out else delivery.deliver_on
    return max(0, (there_on - lack.on).days)
