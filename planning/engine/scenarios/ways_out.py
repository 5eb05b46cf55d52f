"""What can still be done about a shortfall: the one definition of "too late".

Too late is what planned cakes lack whatever is ordered on any delivery that can still
come. An item that merely falls below its safety or par before the next delivery is
not: nothing has to be bought by hand for it, and that delivery brings it.

Where orders are suggested, the delivery that is named is the one that they name, so
that a cut-off is one moment wherever it is told.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date
from enum import StrEnum
from functools import cached_property

from planning.engine.decided import ComingLine, coming_lines
from planning.engine.deliveries import PossibleDelivery
from planning.engine.demand.explosion import Explosion
from planning.engine.kitchen import DecidedLine, DeliveryKey, PackTerms, Window
from planning.engine.plan import Remedy, Shortfall, ShortfallKind, SuggestedOrder
from planning.engine.scenarios.rescue import Lost, find_lost
from planning.engine.shortfalls.remedies import Market


class Way(StrEnum):
    """What is left to do about a shortfall."""

    TOO_LATE = "too_late"  # for any delivery, of some or all that cakes lack
    NOT_SOLD = "not_sold"  # by any supplier
    NEVER_USABLE = "never_usable"  # out of date before, whoever delivers it
    IN_TIME = "in_time"  # a delivery brings it
    NEXT_DELIVERY = "next_delivery"  # a level, not kept until then
    NO_DELIVERY = "no_delivery"  # within the plan: a level, not kept to its end


@dataclass(frozen=True, slots=True)
class WayOut:
    """A way, and the delivery that it takes; None where there is none."""

    way: Way
    delivery: Remedy | None = None
    # No delivery brings all that the cakes lack, though one helps with the first day.
    is_part_lost: bool = False
    # All of it on that delivery was decided on: the order that waits to be sent.
    waiting: DecidedLine | None = None


@dataclass(frozen=True)
class WaysOut:
    """Says of each shortfall of one plan what can still be done about it."""

    explosion: Explosion
    window: Window
    deliveries: Sequence[PossibleDelivery]
    orders: Sequence[SuggestedOrder] = ()  # none where none were worked out

    @cached_property
    def lost(self) -> dict[int, Lost]:
        """What no delivery can save, by node; in order of day, then name."""
        found = find_lost(self.explosion, self.window, self.deliveries)
        return {each.node: each for each in found}

    def of(self, row: Shortfall) -> WayOut:
        """Return what can still be done about a shortfall of this plan."""
        is_lost = row.kind is ShortfallKind.OUT and row.node in self.lost
        if row.remedy is not None:
            by = self._suggested(row.node, row.remedy.deliver_on)
            if by is None and self._is_decided(row.node):
                by = self._suggested(row.node, self.window.to_on)
            by = by or row.remedy
            waiting = self._waiting(row.node, by)
            return WayOut(Way.IN_TIME, by, is_part_lost=is_lost, waiting=waiting)
        if not self._market.packs(row.node):
            return WayOut(Way.NOT_SOLD)
        if self._market.is_never_usable(row.node):
            return WayOut(Way.NEVER_USABLE)
        if row.kind is ShortfallKind.OUT:
            return WayOut(Way.TOO_LATE)
        offer = min(self._offers(row.node), key=_arrival, default=None)
        first = self._suggested(row.node, self.window.to_on) or _remedy(offer)
        if first is None:
            return WayOut(Way.NO_DELIVERY)
        return WayOut(Way.NEXT_DELIVERY, first, waiting=self._waiting(row.node, first))

    def _waiting(self, node: int, by: Remedy) -> DecidedLine | None:
        """Return the order that waits and brings all that a delivery has of an item."""
        key = DeliveryKey(by.supplier, by.deliver_on)
        mine = [
            each.line
            for each in self._decided
            if each.pack.node == node and each.line.delivery_key == key
        ]
        decided = sum(line.packs for line in mine)
        return mine[0] if mine and self._ordered(node, key) <= decided else None

    def _is_decided(self, node: int) -> bool:
        """Whether the orders bring some of an item, and no more than was decided on."""
        decided = (each.line.packs for each in self._decided if each.pack.node == node)
        return 0 < self._ordered(node) <= sum(decided)

    def _ordered(self, node: int, key: DeliveryKey | None = None) -> int:
        """Return how many packs of an item all orders bring, or one delivery."""
        return sum(
            line.packs
            for order in self.orders
            if key is None or key == order.delivery_key
            for line in order.lines
            if line.pack.node == node
        )

    @cached_property
    def _decided(self) -> tuple[ComingLine, ...]:
        return coming_lines(self.explosion.prepared.kitchen, self.deliveries)

    def _suggested(self, node: int, by: date) -> Remedy | None:
        """Return the first suggested delivery of an item, up to a day."""
        return min(
            (
                Remedy(order.supplier, line.pack, order.order_by, order.deliver_on)
                for order in self.orders
                for line in order.lines
                if line.pack.node == node and order.deliver_on <= by
            ),
            key=lambda found: found.order_by.astimezone(UTC),
            default=None,
        )

    @cached_property
    def _market(self) -> Market:
        return Market(self.explosion.prepared.kitchen, self.deliveries)

    def _offers(self, node: int) -> list[tuple[PackTerms, PossibleDelivery]]:
        """Return every delivery of an item's packs, in order of preference."""
        return [
            (pack, delivery)
            for pack in self._market.packs(node)
            for delivery in self._market.deliveries(pack)
        ]


def _arrival(offer: tuple[PackTerms, PossibleDelivery]) -> date:
    return offer[1].deliver_on


def _remedy(offer: tuple[PackTerms, PossibleDelivery] | None) -> Remedy | None:
    if offer is None:
        return None
    pack, delivery = offer
    return Remedy(pack.supplier, pack, delivery.order_by, delivery.deliver_on)
