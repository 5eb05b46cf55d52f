"""The ordering problem of a whole kitchen: its trucks, and a task for every item.

What no delivery can save is found first, by supposing that every delivery brings
without limit: what is short even so is short in every plan. All the rest is a hard
demand on the orders.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

import numpy as np

from planning.engine.costing import best_price_per_base
from planning.engine.decided import coming_lines
from planning.engine.deliveries import PossibleDelivery, is_ever_usable
from planning.engine.kitchen import FloatColumn, Kitchen, PackTerms, Window
from planning.engine.ordering.instance.bounds import PackBounds
from planning.engine.ordering.instance.options import options_of
from planning.engine.ordering.instance.usefulness import (
    asked_base,
    capped_use_by,
    most_useful_base,
    stock_of,
    supplies_by_row,
)
from planning.engine.ordering.instance.wishes import Wishes
from planning.engine.ordering.pricing.tasks import (
    Course,
    Offer,
    Task,
    follow,
    is_enough,
)
from planning.engine.par_days import ParTargets, par_targets_of_orders
from planning.engine.plan import Demand
from planning.engine.shelves.leftovers import MOST_DAYS_AHEAD, daily_use_base
from planning.engine.shelves.projection import LEAST_LACK_BASE, used_by_day
from planning.engine.shelves.supplies import (
    NEVER,
    ShelfRows,
    read_shelf,
    use_by_days,
)
from planning.engine.shortfalls.remedies import Market

# Kept clear of what counts as a lack, so that no later rounding makes it one.
MOST_FORGIVEN_BASE = 0.9 * LEAST_LACK_BASE
MOST_FORGIVEN_PACKS = 1e-6


@dataclass(frozen=True, slots=True)
class TruckTerms:
    """What a delivery asks for, in money."""

    fee: float
    minimum: float
    free_from: float | None  # None: the fee is never waived

    @property
    def free_goods(self) -> float | None:
        """The goods from which the delivery costs nothing; None where none do."""
        if self.free_from is None or not self.fee:
            return None
        return max(self.free_from, self.minimum)

    @property
    def is_shared(self) -> bool:
        """Whether what one item buys here matters to the others."""
        return bool(self.fee or self.minimum)


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything that orders are chosen from."""

    kitchen: Kitchen
    window: Window
    trucks: tuple[PossibleDelivery, ...]
    terms: tuple[TruckTerms, ...]  # of each truck
    tasks: tuple[Task, ...]  # one for each row of the shelf
    shelf: ShelfRows
    par: ParTargets
    has_part_cents: bool  # some price is not in whole cents
    fixed: frozenset[tuple[int, int]]  # delivery and pack that the buyer has fixed
    decided: Mapping[tuple[int, int], int]  # so many packs come, no fewer

    def pack(self, cell: tuple[int, int]) -> PackTerms:
        """Return the pack of a delivery and a place, as that delivery charges it."""
        truck, place = cell
        return self.kitchen.packs[place].on(self.trucks[truck].deliver_on)


def read_problem(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    wishes: Wishes,
) -> Problem:
    """Return the problem of a kitchen's orders."""
    shelf = read_shelf(kitchen, window)
    reader = _Reader(kitchen, window, demand, deliveries, wishes, shelf)
    tasks = tuple(reader.task(row) for row in range(len(shelf.nodes)))
    return Problem(
        kitchen=kitchen,
        window=window,
        trucks=reader.trucks,
        terms=tuple(reader.terms(truck) for truck in reader.trucks),
        tasks=tasks,
        shelf=shelf,
        par=reader.par,
        fixed=reader.bounds.fixed_cells(kitchen.packs),
        decided=reader.bounds.decided_cells(kitchen.packs),
        has_part_cents=any(
            price != round(price, 2)
            for pack in kitchen.packs
            for price in pack.prices(window.from_on, window.to_on)
        ),
    )


class _Reader:
    """Reads the tasks of a kitchen row by row."""

    def __init__(
        self,
        kitchen: Kitchen,
        window: Window,
        demand: Demand,
        deliveries: Sequence[PossibleDelivery],
        wishes: Wishes,
        shelf: ShelfRows,
    ) -> None:
        self._kitchen, self._window, self._wishes = kitchen, window, wishes
        self._shelf = shelf
        self._used_base = used_by_day(shelf, window, demand)
        par_base = kitchen.nodes.par_base[list(shelf.nodes)]
        self._daily_base = daily_use_base(self._used_base, par_base)
        self.par = par_targets_of_orders(kitchen, window, deliveries)
        self._supplies = supplies_by_row(shelf.supplies, len(shelf.nodes))
        self._market = Market(kitchen, deliveries)
        self._place_of = {pack.pack_id: n for n, pack in enumerate(kitchen.packs)}
        self._buyable = {
            pack.supplier
            for pack in kitchen.packs
            if any(pack.prices(window.from_on, window.to_on))
            or kitchen.suppliers[pack.supplier].minimum_order == 0
        }
        allowed = set(wishes.allowed(deliveries))
        decided = coming_lines(kitchen, deliveries)
        coming = {each.delivery for each in decided}
        self.trucks = tuple(
            truck
            for truck in deliveries
            if truck in coming or (truck in allowed and truck.supplier in self._buyable)
        )
        self.bounds = PackBounds.of(self.trucks, wishes, decided, allowed)

    def terms(self, truck: PossibleDelivery) -> TruckTerms:
        """Return what a delivery asks for.

        One that somebody has decided on comes, though nothing may be added to it.
        """
        supplier = self._kitchen.suppliers[truck.supplier]
        free_from = supplier.free_delivery_from
        can_grow = truck.supplier in self._buyable and not self.bounds.is_closed(truck)
        return TruckTerms(
            float(supplier.delivery_fee),
            float(supplier.minimum_order) if can_grow else 0.0,
            None if free_from is None else float(free_from),
        )

    def task(self, row: int) -> Task:
        """Return the task of one row of the shelf."""
        node = self._shelf.nodes[row]
        packs = self._packs_by_truck(node)
        task = self._without_options(row, list(packs))
        limits = [
            self.bounds.most_base(truck, found.values())
            if self._is_ever_usable(node, truck)
            else self.bounds.least_base(truck, found.values())
            for truck, found in packs.items()
        ]
        flood = _flood(task, limits)
        task = self._with_levels(task, flood)
        if self._wishes.has_preference:
            liked = self._liked(task, packs, limits)
            if len(liked) < len(packs):
                packs = liked
                task = replace(
                    self._without_options(row, list(packs)),
                    least_closing_base=task.least_closing_base,
                    most_owed_base=task.most_owed_base,
                )
        return self._with_options(task, packs)

    def _liked(
        self,
        task: Task,
        packs: dict[int, dict[int, PackTerms]],
        limits: Sequence[float | None],
    ) -> dict[int, dict[int, PackTerms]]:
        """Return the trucks that the buyer prefers, if they save as much as all."""
        is_liked = [self._wishes.prefers(self.trucks[truck]) for truck in packs]
        limits = [
            limit if liked else self.bounds.least_base(truck, found.values())
            for (truck, found), limit, liked in zip(
                packs.items(), limits, is_liked, strict=True
            )
        ]
        if not any(is_liked) or not is_enough(task, _flood(task, limits)):
            return packs
        return {
            truck: found
            for (truck, found), liked in zip(packs.items(), is_liked, strict=True)
            if liked or self.bounds.has_any(truck, found.values())
        }

    def _packs_by_truck(self, node: int) -> dict[int, dict[int, PackTerms]]:
        """Return an item's packs by truck, in order of arrival."""
        by_supplier: dict[int, dict[int, PackTerms]] = {}
        for pack in self._market.packs(node):
            mine = by_supplier.setdefault(pack.supplier, {})
            mine[self._place_of[pack.pack_id]] = pack
        order = sorted(
            range(len(self.trucks)),
            key=lambda n: (self.trucks[n].deliver_on, self._is_next_day(n), n),
        )
        found = {}
        for number in order:
            truck = self.trucks[number]
            mine = by_supplier.get(truck.supplier, {})
            has_use = self._is_ever_usable(node, number)
            if mine and (has_use or self.bounds.has_any(number, mine.values())):
                found[number] = {
                    place: pack.on(truck.deliver_on) for place, pack in mine.items()
                }
        return found

    def _is_ever_usable(self, node: int, truck: int) -> bool:
        """Whether an item that comes with a truck can be used before it expires.

        Where not, only what somebody has decided on comes of it.
        """
        keeps_days = int(self._kitchen.nodes.keeps_days[node])
        return is_ever_usable(keeps_days, self.trucks[truck])

    def _is_next_day(self, truck: int) -> bool:
        return self.trucks[truck].usable_on > self.trucks[truck].deliver_on

    def _without_options(self, row: int, trucks: list[int]) -> Task:
        """Return a task whose deliveries, though they come, bring nothing yet."""
        node, days = self._shelf.nodes[row], self._window.days
        nodes, supplies = self._kitchen.nodes, self._supplies[row]
        arrives = np.array([self._day(self.trucks[n].deliver_on) for n in trucks], int)
        keeps = np.full(len(trucks), int(nodes.keeps_days[node]))
        offered = capped_use_by(use_by_days(arrives, keeps), days)
        there = capped_use_by(supplies.use_by, days)
        use_by = np.union1d(offered, there[there >= 0])
        use_by = use_by if len(use_by) else np.array([NEVER])
        stock = stock_of(supplies, there, use_by, days)
        used = self._used_base[:, row].copy()
        best = best_price_per_base(self._market.packs(node), self._window) or Decimal(0)
        return Task(
            node=node,
            used_base=used,
            use_by=use_by,
            opening_base=stock.opening_base,
            same_day_base=stock.same_day_base,
            next_day_base=stock.next_day_base,
            owed_base=stock.owed_base,
            expired_base=stock.expired_base,
            most_owed_base=np.zeros(days),
            least_closing_base=self._levels_base(node),
            par_base=float(nodes.par_base[node]),
            daily_base=float(self._daily_base[row]),
            worth=float(best) * self._kitchen.bakery.leftover_worth,
            tolerance_base=self._tolerance_base(node),
            safety_base=float(nodes.safety_base[node]),
            offers=tuple(
                self._empty_offer(number, day, int(np.searchsorted(use_by, last)))
                for number, day, last in zip(
                    trucks, arrives.tolist(), offered.tolist(), strict=True
                )
            ),
        )

    def _empty_offer(self, truck: int, arrives: int, stock_class: int) -> Offer:
        """Return a delivery on its day that brings nothing, and costs nothing."""
        nothing = np.zeros(1)
        return Offer(
            delivery=truck,
            arrives=arrives,
            is_next_day=self._is_next_day(truck),
            stock_class=stock_class,
            amount_base=nothing,
            cost=nothing,
            is_used=np.zeros(1, dtype=np.bool_),
            lines=((),),
        )

    def _levels_base(self, node: int) -> FloatColumn:
        """Return what is to stand there when each day closes, for safety and par."""
        safety_base = float(self._kitchen.nodes.safety_base[node])
        return np.asarray(np.maximum(self.par.least_base[node], safety_base))

    def _tolerance_base(self, node: int) -> float:
        """Return the greatest lack of an item that counts as none."""
        sizes = [pack.size_base for pack in self._market.packs(node)]
        return max(MOST_FORGIVEN_BASE, MOST_FORGIVEN_PACKS * max(sizes, default=0.0))

    def _day(self, on: date) -> int:
        return (on - self._window.from_on).days

    def _with_levels(self, task: Task, flood: Course) -> Task:
        """Return a task with what must be reached: all that a flood reaches."""
        least = np.minimum(task.least_closing_base, flood.closing_base)
        return replace(task, most_owed_base=flood.owed_base, least_closing_base=least)

    def _with_options(self, task: Task, packs: dict[int, dict[int, PackTerms]]) -> Task:
        none = follow(task, [0.0] * len(task.offers))
        offers = []
        for offer, (truck, found) in zip(task.offers, packs.items(), strict=True):
            most_base = 0.0
            if self._is_ever_usable(task.node, truck):
                most_base = most_useful_base(task, offer, none)
            options = options_of(
                found,
                most_base,
                asked_base(task, none),
                self.bounds.fixed(truck, found.values()),
                self.bounds.least(truck),
            )
            offers.append(
                replace(
                    offer,
                    amount_base=options.amount_base,
                    cost=options.cost,
                    is_used=options.is_used,
                    lines=options.lines,
                    skipped_cost=options.skipped_cost,
                )
            )
        return replace(task, offers=tuple(offers))


def _flood(task: Task, limits_base: Sequence[float | None]) -> Course:
    """Return how an item fares when all that has no limit brings more than enough."""
    level = float(task.used_base.sum()) + task.owed_base + task.par_base + 1.0
    level += float(task.least_closing_base.max())
    enough = 4.0 * (level + MOST_DAYS_AHEAD * task.daily_base)
    return follow(task, [enough if base is None else base for base in limits_base])
