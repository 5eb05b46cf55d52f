"""What orders are judged by: every shelf with its use, and who can still bring what.

Rows are those of the shelf, days are numbers from 0, the window's first.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from planning.engine.costing import packs_to_buy
from planning.engine.decided import ComingLine, coming_lines
from planning.engine.deliveries import PossibleDelivery, first_usable_on
from planning.engine.kitchen import IntColumn, Kitchen, PackTerms, Window
from planning.engine.par_days import ParTargets, par_targets_of_orders
from planning.engine.plan import Demand, SuggestedOrder
from planning.engine.shelves.projection import ShelfDays, shelf_days, used_by_day
from planning.engine.shelves.supplies import (
    Bought,
    ShelfRows,
    Supplies,
    bought_supplies,
    join,
    only_row,
    only_rows,
    read_shelf,
    window_days,
)
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from planning.engine.shortfalls.shortfalls import Lacks, lacks, level_base
from planning.engine.shortfalls.sparing import OneShelf


@dataclass(frozen=True, slots=True)
class Situation:
    """A kitchen before anything is ordered."""

    kitchen: Kitchen
    window: Window
    shelf: ShelfRows  # without suggested orders
    used_base: npt.NDArray[np.float64]  # a row a day, a column an item
    market: Market
    par: ParTargets
    days: tuple[date, ...]
    decided: tuple[ComingLine, ...] = ()  # of any orders, whatever else they bring

    def decided_packs(self, pack: PackTerms, delivery: PossibleDelivery) -> int:
        """Return how many of a pack come with a delivery in any case."""
        return sum(
            each.line.packs
            for each in self.decided
            if each.pack.pack_id == pack.pack_id and each.delivery == delivery
        )

    @property
    def all_rows(self) -> IntColumn:
        """Every row of the shelf."""
        return np.arange(len(self.shelf.nodes))

    def with_bought(
        self, bought: Sequence[Bought], supplies: Supplies | None = None
    ) -> Supplies:
        """Return what stands on the shelf and comes, with purchases.

        They are added to `supplies`; left out, to what is there without any orders.
        """
        there = supplies or self.shelf.supplies
        if not bought:
            return there
        more = bought_supplies(self.kitchen, self.window, self.shelf, bought)
        return join(there, more)

    def with_orders(self, orders: Iterable[SuggestedOrder]) -> Supplies:
        """Return what stands on the shelf and comes, with suggested orders."""
        return self.with_bought(
            [
                (line.pack, line.packs, delivery_of(self.kitchen, order))
                for order in orders
                for line in order.lines
            ]
        )

    def figures(self, supplies: Supplies, rows: IntColumn) -> ShelfDays:
        """Return some rows of the shelf with the supplies of all."""
        place = np.full(len(self.shelf.nodes) + 1, len(rows), dtype=np.int64)
        place[rows] = np.arange(len(rows))
        moved = replace(supplies, row=place[supplies.row])
        return shelf_days(only_rows(moved, len(rows)), self.used_base[:, rows])

    def one_shelf(self, supplies: Supplies, row: int) -> OneShelf:
        """Return one row's shelf by itself."""
        return OneShelf(
            self.kitchen,
            self.shelf.nodes[row],
            self.window.from_on,
            only_row(supplies, row),
            self.used_base[:, row : row + 1],
        )

    def level_base(self, lack: DatedShortfall) -> float:
        """Return what has to stand there so that something is not lacking in a way."""
        return level_base(self.kitchen, self.window, self.par, lack)

    def flooded(self, supplies: Supplies, rows: IntColumn) -> Supplies:
        """Return supplies with more than enough for some rows on every delivery."""
        flood = [
            (pack, packs_to_buy(plenty_base, pack).packs, delivery)
            for row in rows.tolist()
            if (plenty_base := self.one_shelf(supplies, row).plenty_base())
            for pack, delivery in self.market.every_offer(self.shelf.nodes[row])
        ]
        return self.with_bought(flood, supplies)

    def lacks(self, supplies: Supplies, rows: IntColumn) -> Lacks:
        """Return what some rows lack with the supplies of all."""
        figures = self.figures(supplies, rows)
        return lacks(
            self.kitchen,
            [self.shelf.nodes[row] for row in rows],
            self.par,
            outstanding_base=figures.outstanding_base.T,
            closing_base=figures.ends_base[1:].T,
        )


def read_situation(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
) -> Situation:
    """Return what any orders for a window are judged by."""
    shelf = read_shelf(kitchen, window)
    return Situation(
        kitchen=kitchen,
        window=window,
        shelf=shelf,
        used_base=used_by_day(shelf, window, demand),
        market=Market(kitchen, deliveries),
        par=par_targets_of_orders(kitchen, window, deliveries),
        days=window_days(window),
        decided=coming_lines(kitchen, deliveries),
    )


def delivery_of(kitchen: Kitchen, order: SuggestedOrder) -> PossibleDelivery:
    """Return the delivery that brings an order."""
    supplier, deliver_on = order.supplier, order.deliver_on
    usable_on = first_usable_on(kitchen.suppliers[supplier], deliver_on)
    return PossibleDelivery(supplier, deliver_on, order.order_by, usable_on)
