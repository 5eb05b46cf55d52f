"""Which pack and which delivery: the last one in time, and the order of preference."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from operator import attrgetter

from planning.engine.costing import Preference, pack_preference
from planning.engine.deliveries import (
    PossibleDelivery,
    by_supplier,
    is_ever_usable,
    is_in_date,
)
from planning.engine.kitchen import Kitchen, PackTerms
from planning.engine.plan import Remedy, ShortfallKind

_usable_on: Callable[[PossibleDelivery], date] = attrgetter("usable_on")
_deliver_on: Callable[[PossibleDelivery], date] = attrgetter("deliver_on")


@dataclass(frozen=True, slots=True)
class DatedShortfall:
    """What a delivery must be in time for."""

    node: int
    kind: ShortfallKind
    on: date


class Market:
    """Every pack of every item, and the deliveries that can still bring it."""

    def __init__(
        self, kitchen: Kitchen, deliveries: Sequence[PossibleDelivery]
    ) -> None:
        self._kitchen = kitchen
        self._deliveries: Mapping[int, Sequence[PossibleDelivery]] = by_supplier(
            deliveries
        )
        packs: dict[int, list[PackTerms]] = defaultdict(list)
        for pack in kitchen.packs:
            packs[pack.node].append(pack)
        self._charging = {pack.supplier for pack in kitchen.packs if pack.price}
        self._packs = {
            node: sorted(found, key=lambda pack: pack_preference(kitchen, pack))
            for node, found in packs.items()
        }

    def packs(self, node: int) -> Sequence[PackTerms]:
        """Return an item's packs: preferred, then cheapest, then by supplier."""
        return self._packs.get(node, ())

    def deliveries(self, pack: PackTerms) -> Sequence[PossibleDelivery]:
        """Return the deliveries that can still bring a pack, by day.

        None where its item is out of date before such a delivery can be used.
        """
        found = self._deliveries.get(pack.supplier, ())
        keeps_days = int(self._kitchen.nodes.keeps_days[pack.node])
        # A supplier's wait is one: it is all of its deliveries or none.
        return found if found and is_ever_usable(keeps_days, found[0]) else ()

    def is_never_usable(self, node: int) -> bool:
        """Whether all that comes of an item is out of date before it is usable."""
        packs = self.packs(node)
        come = any(self._deliveries.get(pack.supplier) for pack in packs)
        return come and not any(self.deliveries(pack) for pack in packs)

    def every_offer(self, node: int) -> Iterator[tuple[PackTerms, PossibleDelivery]]:
        """Yield every delivery that can bring an item, with a pack of its supplier.

        Without those that no order can bring about: where all that a supplier sells is
        free, no minimum order is reached.
        """
        liked = {pack.supplier: pack for pack in reversed(self.packs(node))}
        for supplier, pack in liked.items():
            has_minimum = self._kitchen.suppliers[supplier].minimum_order > 0
            if not has_minimum or supplier in self._charging:
                for delivery in self.deliveries(pack):
                    yield pack, delivery

    def last_in_time(
        self, pack: PackTerms, lack: DatedShortfall
    ) -> PossibleDelivery | None:
        """Return the last delivery of a pack that is in time for a lack."""
        # By the day they come is by the day they are usable: a supplier's wait is one.
        deliveries = self.deliveries(pack)
        in_time = bisect_right(deliveries, lack.on, key=_there_on(lack.kind))
        if not in_time:
            return None
        last = deliveries[in_time - 1]
        keeps_days = int(self._kitchen.nodes.keeps_days[lack.node])
        return last if is_in_date(keeps_days, last.deliver_on, lack.on) else None

    def in_time(
        self, lack: DatedShortfall
    ) -> Iterator[tuple[PackTerms, PossibleDelivery]]:
        """Yield each pack with its last delivery in time, in order of preference."""
        for pack in self.packs(lack.node):
            delivery = self.last_in_time(pack, lack)
            if delivery is not None:
                yield pack, delivery

    def has_remedy(self, lack: DatedShortfall) -> bool:
        """Whether any delivery comes in time and in date."""
        return next(self._in_time_and_date(lack), None) is not None

    def remedy(self, lack: DatedShortfall) -> Remedy | None:
        """Return the delivery that leaves most time to order; then by preference."""
        found = min(
            self._in_time_and_date(lack),
            key=lambda offer: self._remedy_rank(*offer),
            default=None,
        )
        if found is None:
            return None
        pack, delivery = found
        return Remedy(pack.supplier, pack, delivery.order_by, delivery.deliver_on)

    def _in_time_and_date(
        self, lack: DatedShortfall
    ) -> Iterator[tuple[PackTerms, PossibleDelivery]]:
        keeps_days = int(self._kitchen.nodes.keeps_days[lack.node])
        for pack in self.packs(lack.node):
            for delivery in self.deliveries(pack):
                if not arrives_by(delivery, lack):
                    break  # the others come later still
                if is_in_date(keeps_days, delivery.deliver_on, lack.on):
                    yield pack, delivery

    def _remedy_rank(
        self, pack: PackTerms, delivery: PossibleDelivery
    ) -> tuple[float, Preference, int]:
        """Return what remedies are sorted by, the best first.

        The last delivery need not be the last to order: cut-offs may differ by the
        weekday of the delivery.
        """
        charged = pack.on(delivery.deliver_on)
        return (
            -delivery.order_by.timestamp(),
            pack_preference(self._kitchen, charged),
            -delivery.deliver_on.toordinal(),
        )


def arrives_by(delivery: PossibleDelivery, lack: DatedShortfall) -> bool:
    """Whether a delivery comes early enough: usable, or for a level merely there."""
    return _there_on(lack.kind)(delivery) <= lack.on


def _there_on(kind: ShortfallKind) -> Callable[[PossibleDelivery], date]:
    """Return what says on which day a delivery counts."""
    return _usable_on if kind is ShortfallKind.OUT else _deliver_on
