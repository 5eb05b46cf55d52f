"""What one more cake adds to the orders that a plan suggests, item by item.

The shelf is projected with the suggested orders, without the cake and with it. What is
then outstanding on a day is bought on a delivery that takes it away: on a truck that
comes anyway if one does, else on the one that leaves most time. Every choice is tried
on the projection itself, so what goes out of date, or spares what keeps longer, counts.
"""

import math
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date
from decimal import Decimal

import numpy as np

from planning.engine.costing import (
    NOTHING,
    delivery_fee,
    lacking_to_minimum,
    line_cost,
    packs_for,
    sellable,
)
from planning.engine.deliveries import PossibleDelivery, first_usable_on
from planning.engine.kitchen import DeliveryKey, FloatColumn, Kitchen, PackTerms, Window
from planning.engine.plan import ShortfallKind, SuggestedOrder
from planning.engine.scenarios.added_orders import (
    ItemOrders,
    MoreLine,
    MoreOrder,
    UnpricedLine,
)
from planning.engine.scenarios.least_packs import (
    Choice,
    Option,
    least_choice,
    options_of,
)
from planning.engine.scenarios.one_more import CakeEffect
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shelves.supplies import (
    Bought,
    Supplies,
    bought_supplies,
    join,
    only_rows,
)
from planning.engine.shortfalls.remedies import DatedShortfall, Market


@dataclass(slots=True)
class OrderBook:
    """The suggested orders, and the deliveries beside them."""

    kitchen: Kitchen
    window: Window
    market: Market
    orders: Sequence[SuggestedOrder]
    planned_to: date  # the last day that orders are suggested for
    _suggested: dict[int, list[Bought]] = field(init=False)  # by node
    _goods: dict[DeliveryKey, Decimal] = field(init=False)

    def __post_init__(self) -> None:
        self._suggested, self._goods = {}, {}
        for order in self.orders:
            supplier = self.kitchen.suppliers[order.supplier]
            usable_on = first_usable_on(supplier, order.deliver_on)
            delivery = PossibleDelivery(
                order.supplier, order.deliver_on, order.order_by, usable_on
            )
            self._goods[order.delivery_key] = order.goods_cost
            for line in order.lines:
                bought = (line.pack, line.packs, delivery)
                self._suggested.setdefault(line.pack.node, []).append(bought)

    def orders_for(
        self,
        effect: CakeEffect,
        short_on: date,
        serves_by: date | None,
        *,
        was_short: bool,
    ) -> ItemOrders:
        """Return what has to be ordered of the one item of an effect.

        `short_on` is the first day on which stock and open orders reach less far than
        without the cake, `serves_by` the last on which the cake uses the item, if it is
        short by then, and `was_short` says whether it is short that day anyway: what is
        suggested has to be ordered then, cake or not.
        """
        [node] = effect.nodes
        suggested = self._suggested.get(node, [])
        found = ItemOrders(node, serves_by)
        search = _Search(self, effect, suggested)
        while (lack := search.first_lack(found.added)) is not None:
            day, lacking_base = lack
            offer = search.best_offer(found.added, day)
            if offer is None:
                on = self._on(day)
                found.lacking_on, found.lacking_base = on, lacking_base
                break
            found.added.append(offer)
        found.added = search.least(found.added)
        if serves_by is None and was_short:
            return found
        in_time = [each for each in suggested if each[2].usable_on <= short_on]
        if in_time and all(each[2].usable_on > short_on for each in found.added):
            last = max(each[2].deliver_on for each in in_time)
            found.needed = [each for each in in_time if each[2].deliver_on == last]
        elif not found.added and found.lacking_on is None:
            found.needed = suggested[:1]
        return found

    def keeps_safety(
        self, effect: CakeEffect, item: ItemOrders | None, safety_base: float
    ) -> bool:
        """Whether the suggested orders, and what is added, keep an item as it was."""
        suggested = self._suggested.get(effect.nodes[0], [])
        added = item.added if item else []
        before = effect.before(self.supplies(effect, suggested)).closing_base
        after = effect.after(self.supplies(effect, [*suggested, *added])).closing_base
        was_base = np.maximum(safety_base - before, 0.0)
        gap_base = np.maximum(safety_base - after, 0.0)
        return bool((gap_base - was_base < LEAST_LACK_BASE).all())

    def supplies(self, effect: CakeEffect, bought: Sequence[Bought]) -> Supplies:
        """Return what an effect's shelf has, with packs of its items beside it."""
        shelf = effect.shelf
        if not bought:
            return shelf.supplies
        more = bought_supplies(self.kitchen, self.window, shelf, bought)
        return join(shelf.supplies, only_rows(more, len(shelf.nodes)))

    def offers(
        self, node: int, day: date
    ) -> Iterator[tuple[PackTerms, PossibleDelivery]]:
        """Yield packs and deliveries usable by a day, the ones to take first.

        Deliveries that come anyway, the last first; then what leaves most time to order
        and is in date; then everything else.
        """
        in_time = [
            (pack, delivery)
            for pack in self.market.packs(node)
            for delivery in self.market.deliveries(pack)
            if delivery.usable_on <= day
        ]
        # Sorting keeps the order of equals, and packs come in order of preference.
        in_time.sort(key=lambda offer: offer[1].order_by.astimezone(UTC), reverse=True)
        last = list(self.market.in_time(DatedShortfall(node, ShortfallKind.OUT, day)))
        yield from (offer for offer in in_time if offer[1].key in self._goods)
        yield from (offer for offer in in_time if offer in last)
        yield from in_time

    def together(self, items: Iterable[ItemOrders]) -> tuple[MoreOrder, ...]:
        """Return what has to be ordered of all items, by the moment up to which."""
        by_key: dict[DeliveryKey, list[UnpricedLine]] = {}
        for item in items:
            lines: dict[tuple[DeliveryKey, int], UnpricedLine] = {}
            for pack, packs, delivery in item.added:
                cell = delivery.key, pack.pack_id
                more = packs + (lines[cell].more_packs if cell in lines else 0)
                lines[cell] = UnpricedLine(pack, delivery, more, item.serves(delivery))
            for pack, _, delivery in item.needed:
                line = UnpricedLine(pack, delivery, 0, item.serves(delivery))
                lines.setdefault((delivery.key, pack.pack_id), line)
            for (key, _), line in lines.items():
                by_key.setdefault(key, []).append(line)
        orders = [self._order(key, group) for key, group in by_key.items()]
        return tuple(sorted(orders, key=self._by_moment))

    def _order(self, key: DeliveryKey, group: Sequence[UnpricedLine]) -> MoreOrder:
        supplier = self.kitchen.suppliers[key.supplier]
        lines = tuple(self._line(line) for line in group)
        goods = self._goods.get(key, NOTHING)
        with_more = goods + sum((line.more_cost for line in lines), NOTHING)
        is_new = key not in self._goods
        fee_before = NOTHING if is_new else delivery_fee(supplier, goods)
        under_minimum = lacking_to_minimum(supplier, with_more)
        found = MoreOrder(
            delivery=group[0].delivery,
            lines=lines,
            is_new=is_new,
            is_beyond=key.deliver_on > self.planned_to,
            more_fee=NOTHING,
            under_minimum=under_minimum,
        )
        fee = delivery_fee(supplier, with_more + found.filling_cost)
        return replace(found, more_fee=fee - fee_before)

    def _line(self, line: UnpricedLine) -> MoreLine:
        pack, packs = line.pack, self.suggested_packs(line.pack, line.delivery)
        charged = pack.on(line.delivery.deliver_on)
        cost_before = line_cost(charged, packs) if packs else NOTHING
        cost = line_cost(charged, packs + line.more_packs)
        more_cost = cost - cost_before
        return MoreLine(pack, packs, line.more_packs, more_cost, line.is_for_cake)

    def suggested_packs(self, pack: PackTerms, delivery: PossibleDelivery) -> int:
        """Return how many packs are suggested on a delivery."""
        return sum(
            packs
            for mine, packs, truck in self._suggested.get(pack.node, [])
            if mine.pack_id == pack.pack_id and truck.key == delivery.key
        )

    def _by_moment(self, order: MoreOrder) -> tuple[float, str]:
        supplier = self.kitchen.suppliers[order.delivery.supplier]
        return order.delivery.order_by.timestamp(), supplier.name.casefold()

    def _on(self, day: int) -> date:
        return date.fromordinal(self.window.from_on.toordinal() + day)


@dataclass(slots=True)
class _Search:
    """Looks for packs of one item, one day's lack after the other."""

    book: OrderBook
    effect: CakeEffect
    suggested: Sequence[Bought]
    _before_base: FloatColumn = field(init=False)

    def __post_init__(self) -> None:
        supplies = self.book.supplies(self.effect, self.suggested)
        self._before_base = self.effect.before(supplies).outstanding_base[0]

    def first_lack(self, added: Sequence[Bought]) -> tuple[int, float] | None:
        """Return the first day on which the cake still lacks something, and how much.

        None where it lacks nothing.
        """
        more_base = self._more_base(added)
        days = np.flatnonzero(more_base >= LEAST_LACK_BASE)
        return (int(days[0]), float(more_base[days[0]])) if days.size else None

    def best_offer(self, added: Sequence[Bought], day: int) -> Bought | None:
        """Return the fewest packs of the best offer for a day, or None.

        The first offer that takes all of the day's lack away; else the one that takes
        most of it.
        """
        now_base = self._more_base(added)
        best: tuple[float, Bought] | None = None
        tried = set()
        on = date.fromordinal(self.book.window.from_on.toordinal() + day)
        for pack, delivery in self.book.offers(self.effect.nodes[0], on):
            key = pack.pack_id, delivery.deliver_on
            if key in tried:
                continue
            tried.add(key)
            plenty = (pack, self._plenty(pack), delivery)
            left_base = self._more_base([*added, plenty])
            if left_base[day] < LEAST_LACK_BASE:
                return self._cheapest_on(delivery, added, day)
            if best is None or left_base[day] < best[0]:
                best = float(left_base[day]), plenty
        if best is None or best[0] > now_base[day] - LEAST_LACK_BASE:
            return None
        left_base = self._more_base([*added, best[1]])
        return self._fewest(added, best[1], now_base, left_base)

    def least(self, added: Sequence[Bought]) -> list[Bought]:
        """Return the cheapest packs of the same deliveries that do as much.

        Packs are found for one day after the other, so that a later one can make
        earlier ones needless; and from a price break on more of them can cost less.
        """
        if not added:
            return []
        enough_base = np.maximum(self._more_base(added), 0.0)
        deliveries = list({each[2].key: each[2] for each in added}.values())
        sold = [self._sold_on(delivery) for delivery in deliveries]
        options = [
            options_of([self._numbers(pack, delivery, added) for pack in packs])
            for delivery, packs in zip(deliveries, sold, strict=True)
        ]

        def bought(choice: Choice) -> list[Bought]:
            return [
                (pack, count, delivery)
                for delivery, packs, mine, place in zip(
                    deliveries, sold, options, choice, strict=True
                )
                for pack, count in zip(packs, mine[place].packs, strict=True)
                if count
            ]

        def is_enough(choice: Choice) -> bool:
            left_base = self._more_base(bought(choice))
            return bool((left_base - enough_base < LEAST_LACK_BASE).all())

        return bought(least_choice(options, is_enough))

    def _sold_on(self, delivery: PossibleDelivery) -> list[PackTerms]:
        """Return the packs of the item that a delivery can bring, by preference."""
        packs = self.book.market.packs(self.effect.nodes[0])
        return [pack for pack in packs if pack.supplier == delivery.supplier]

    def _numbers(
        self, pack: PackTerms, delivery: PossibleDelivery, added: Sequence[Bought]
    ) -> list[Option]:
        """Return the numbers of a pack that are of use on a delivery, and their cost.

        More than that are of use only where a price begins.
        """
        key = _line_key((pack, 0, delivery))
        is_same = (each[1] for each in added if _line_key(each) == key)
        plenty = (pack, self._plenty(pack), delivery)
        now_base, left_base = self._more_base([]), self._more_base([plenty])
        alone = self._fewest([], plenty, now_base, left_base)
        most = max(sum(is_same), alone[1])
        there = self.book.suggested_packs(pack, delivery)
        breaks = pack.on(delivery.deliver_on).breaks
        starts = (step.from_packs - there for step in breaks)
        counts = {
            0,
            *range(self._sold(pack, 1, delivery), most + 1, pack.multiple),
            *(self._sold(pack, start, delivery) for start in starts if start > most),
        }
        return [
            Option(
                (count,), count * pack.size_base, self._cost((pack, count, delivery))
            )
            for count in sorted(counts)
        ]

    def _cheapest_on(
        self, delivery: PossibleDelivery, added: Sequence[Bought], day: int
    ) -> Bought:
        """Return the packs on one delivery that take a day's lack away for least."""
        now_base, found = self._more_base(added), []
        for pack in self.book.market.packs(self.effect.nodes[0]):
            if pack.supplier == delivery.supplier:
                plenty = (pack, self._plenty(pack), delivery)
                left_base = self._more_base([*added, plenty])
                if left_base[day] < LEAST_LACK_BASE:
                    found.append(self._fewest(added, plenty, now_base, left_base))
        return min(found, key=self._cost)  # the first of equals is liked best

    def _cost(self, bought: Bought) -> Decimal:
        """Return what packs cost beside those that are suggested."""
        pack, packs, delivery = bought
        there = self.book.suggested_packs(pack, delivery)
        charged = pack.on(delivery.deliver_on)
        before = line_cost(charged, there) if there else NOTHING
        return line_cost(charged, there + packs) - before

    def _more_base(self, added: Sequence[Bought]) -> FloatColumn:
        """Return by day how much more is outstanding than without the cake."""
        supplies = self.book.supplies(self.effect, [*self.suggested, *added])
        more_base: FloatColumn = (
            self.effect.after(supplies).outstanding_base[0] - self._before_base
        )
        return more_base

    def _plenty(self, pack: PackTerms) -> int:
        most_base = 2 * float(self.effect.used_base.sum() + self._before_base.max())
        return math.ceil(most_base / pack.size_base) + 1

    def _fewest(
        self,
        added: Sequence[Bought],
        plenty: Bought,
        now_base: FloatColumn,
        left_base: FloatColumn,
    ) -> Bought:
        """Return the fewest packs that do as much for the cake as plenty of them.

        What the plan lacks without the cake is not the cake's to make good.
        """
        pack, most, delivery = plenty
        least_base = np.maximum(left_base, 0.0)
        need_base = float((now_base - least_base).max())

        def is_enough(packs: int) -> bool:
            found_base = self._more_base([*added, (pack, packs, delivery)])
            return bool((found_base - least_base < LEAST_LACK_BASE).all())

        # Fewer than the need cannot be enough: a pack takes off what is in it at most.
        low = packs_for(pack, need_base)
        packs = low
        while packs < most and not is_enough(packs):
            low, packs = packs + 1, min(2 * packs, most)
        packs = bisect_left(range(packs), True, low, key=is_enough)
        return pack, self._sold(pack, packs, delivery), delivery

    def _sold(
        self, pack: PackTerms, more_packs: int, delivery: PossibleDelivery
    ) -> int:
        """Return how many more to buy, as the supplier sells them."""
        there = self.book.suggested_packs(pack, delivery)
        return sellable(pack, there + more_packs) - there


def _line_key(bought: Bought) -> tuple[int, DeliveryKey]:
    pack, _, delivery = bought
    return pack.pack_id, delivery.key
