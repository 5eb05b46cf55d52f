"""Why a line is on an order, as records with their figures.

What is missing and for which cakes; how the item stands; what the packs come to and
how they are bought; with which delivery. What was done for a minimum order follows.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from planning.engine.costing import line_cost, packs_to_buy
from planning.engine.decided import ComingLine
from planning.engine.deliveries import use_by_on
from planning.engine.kitchen import IntColumn, Kitchen, Window
from planning.engine.plan import ShortfallKind
from planning.engine.reasons import Reason
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shortfalls.shortfalls import CakesBehind, Lacks
from planning.engine.usual_rule.line_reasons import (
    DecidedReason,
    DeliveryReason,
    ItemStanding,
    KeepsReason,
    LateDeliveryReason,
    Liking,
    MovedReason,
    NeedFor,
    NeedReason,
    NextBestReason,
    NoOtherPackReason,
    PacksReason,
    PaddingReason,
    PassedOverReason,
    StandingReason,
)
from planning.engine.usual_rule.purchases import Purchase
from planning.engine.usual_rule.trucks import Line, Truck


@dataclass(frozen=True, slots=True)
class Explainer:
    """Gives the reasons of one plan's lines."""

    kitchen: Kitchen
    window: Window
    standings: dict[int, ItemStanding]  # by node
    lacking: Lacks  # without suggested orders
    row_of_node: IntColumn
    lacks_on: Mapping[int, Sequence[date]]  # that cakes feel and somebody buys for
    cakes_behind: CakesBehind | None = None
    decided: Sequence[ComingLine] = ()
    packs_by_node: dict[int, int] = field(init=False)  # how many kinds are sold

    def __post_init__(self) -> None:
        packs_by_node: dict[int, int] = {}
        for pack in self.kitchen.packs:
            packs_by_node[pack.node] = packs_by_node.get(pack.node, 0) + 1
        object.__setattr__(self, "packs_by_node", packs_by_node)

    def reasons(self, line: Line, truck: Truck) -> tuple[Reason, ...]:
        """Return why so many packs of a line are on a truck."""
        if not line.purchases:
            return self._only_decided(line, truck)
        first = min(line.purchases, key=lambda purchase: purchase.lack.on)
        return (
            *(self._need(purchase) for purchase in line.purchases),
            self._standing(line),
            *self._decided(line),
            self._packs(line, first, truck),
            *self._keeping(line, truck),
            self._delivery(first, line, truck),
            *self._passed_over(first),
            *self._next_best(first, line, truck),
            *self._moved(line, truck),
            *self._padding(line, truck),
        )

    def _only_decided(self, line: Line, truck: Truck) -> tuple[Reason, ...]:
        """Return why a line is there that nothing asked for but a person."""
        return (
            *self._decided(line),
            self._standing(line),
            *self._keeping(line, truck),
            DeliveryReason(truck.delivery),
            *self._padding(line, truck),
        )

    def _decided(self, line: Line) -> list[DecidedReason]:
        """Return what somebody has decided on brings of an item, a line's own first."""
        mine = [each for each in self.decided if each.pack.node == line.pack.node]
        mine.sort(key=lambda each: each not in line.decided)
        return [DecidedReason(each) for each in mine]

    def _need(self, purchase: Purchase) -> NeedReason:
        lack = purchase.lack
        needed_for = NeedFor.CAKES
        if purchase.is_sparing:
            needed_for = NeedFor.SPARING
        elif purchase.is_to_par:
            needed_for = NeedFor.PAR
        return NeedReason(
            lack.node,
            lack.kind,
            lack.on,
            purchase.need_base,
            purchase.covers_to,
            needed_for,
            self._cakes(purchase),
        )

    def _cakes(self, purchase: Purchase) -> tuple[str, ...]:
        """Return the cakes of all days that are short up to the item's next purchase.

        So those of all its purchases are the cakes of its shortfall.
        """
        lack = purchase.lack
        if self.cakes_behind is None or lack.kind is ShortfallKind.BELOW_PAR:
            return ()
        is_short = self.lacking.is_short(lack.kind)[self.row_of_node[lack.node]]
        days = [self._day(day) for day in np.flatnonzero(is_short).tolist()]
        later = [on for on in self.lacks_on[lack.node] if on > lack.on]
        until = min(later, default=date.max)
        mine = {on for on in days if lack.on <= on < until}
        return tuple(self.cakes_behind(lack.node, sorted({lack.on, *mine})))

    def _day(self, day: int) -> date:
        return self.window.from_on + timedelta(days=day)

    def _standing(self, line: Line) -> StandingReason:
        """Return how the item stands, with the need that it adds up to.

        Without one where that is another sum, of other days, that nobody would add up.
        """
        node, nodes = line.pack.node, self.kitchen.nodes
        standing, to_on = self.standings[node], self.window.to_on
        bare = StandingReason(node, standing, to_on)
        if len(line.purchases) != 1:
            return bare
        [purchase] = line.purchases
        levels = nodes.par_base if purchase.is_to_par else nodes.safety_base
        level_base = float(levels[node])
        wanted_base = standing.used_base + standing.expired_base + level_base
        there_base = standing.on_hand_base + standing.on_order_base
        if abs(wanted_base - there_base - purchase.need_base) >= LEAST_LACK_BASE:
            return bare
        return StandingReason(node, standing, to_on, purchase.need_base, level_base)

    def _packs(self, line: Line, first: Purchase, truck: Truck) -> PacksReason:
        counts = [purchase.count for purchase in line.purchases]
        return PacksReason(
            truck.charged(line),
            line.packs,
            (line.packs - line.decided_packs) * line.pack.size_base,
            tuple(purchase.need_base for purchase in line.purchases),
            self._liking(first),
            is_sparing=any(purchase.is_sparing for purchase in line.purchases),
            for_minimum=any(count.for_minimum for count in counts),
            for_multiple=any(count.for_multiple for count in counts),
        )

    def _liking(self, first: Purchase) -> Liking:
        """Return why this pack rather than another."""
        if first.pack.preferred:
            return Liking.PREFERRED
        if self.packs_by_node.get(first.pack.node, 0) == 1:
            return Liking.ONLY_ONE
        return Liking.CHEAPEST if first.passed_over is None else Liking.NEXT_BEST

    def _keeping(self, line: Line, truck: Truck) -> list[KeepsReason]:
        """Return how long the goods keep, where that ends within the plan."""
        came_on, node = truck.delivery.deliver_on, line.pack.node
        use_by = use_by_on(int(self.kitchen.nodes.keeps_days[node]), came_on)
        if use_by is None or use_by >= self.window.to_on:
            return []
        return [KeepsReason(node, came_on, use_by)]

    def _delivery(self, first: Purchase, line: Line, truck: Truck) -> Reason:
        if first.late_days:
            there_on = first.lack.on + timedelta(days=first.late_days)
            return LateDeliveryReason(truck.delivery, there_on, first.late_days)
        is_last_in_time = not (line.brought_from or first.is_sparing)
        return DeliveryReason(truck.delivery, is_last_in_time)

    def _passed_over(self, first: Purchase) -> list[PassedOverReason]:
        other = first.passed_over
        return [] if other is None else [PassedOverReason(other)]

    def _next_best(self, first: Purchase, line: Line, truck: Truck) -> list[Reason]:
        """Return what the pack that is liked next would have cost for the same need."""
        if first.next_best is None:
            is_only_one_late = first.passed_over is not None
            if is_only_one_late or self.packs_by_node.get(line.pack.node, 0) < 2:
                return []
            return [NoOtherPackReason()]
        pack, delivery = first.next_best
        packs = sum(
            packs_to_buy(purchase.need_base, pack).packs for purchase in line.purchases
        )
        bought = sum(purchase.count.packs for purchase in line.purchases)
        return [
            NextBestReason(
                pack,
                packs,
                delivery,
                cost=line_cost(pack.on(delivery.deliver_on), packs),
                own_cost=line_cost(truck.charged(line), bought),
                is_own_preferred=line.pack.preferred and not pack.preferred,
            )
        ]

    def _moved(self, line: Line, truck: Truck) -> list[MovedReason]:
        return [
            MovedReason(truck.delivery.supplier, on, bool(truck.lacked))
            for on in sorted(set(line.brought_from))
        ]

    def _padding(self, line: Line, truck: Truck) -> list[PaddingReason]:
        if not line.padded_packs:
            return []
        supplier = truck.delivery.supplier
        return [PaddingReason(supplier, line.padded_packs, line.packs, truck.lacked)]
