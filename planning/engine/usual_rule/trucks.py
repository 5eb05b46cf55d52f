"""One truck's lines while an order is put together, and how its minimum is met.

A truck whose goods stay under the minimum order first takes in the lines of the same
supplier's next trucks, as far as they keep; then its own lines join an earlier truck;
then it takes more of what it carries: never of a perishable line beyond its keeping
while there is another line.

What is still lacking once the trucks are loaded, and what is bought for it.

Meeting minimum orders moves lines and may leave a delivery at home. So the shelf is
projected once more with what really comes; what lacks is bought as before, from
deliveries that can come. Nothing is moved or taken off any more, so nothing that is
mended breaks again.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from planning.engine.costing import goods_cost, lacking_to_minimum, line_cost
from planning.engine.decided import ComingLine
from planning.engine.deliveries import PossibleDelivery, is_in_date
from planning.engine.kitchen import NO_LIMIT_DAYS, Kitchen, PackTerms, Window
from planning.engine.shelves.supplies import Bought
from planning.engine.shortfalls.remedies import Market
from planning.engine.shortfalls.situations import Situation
from planning.engine.usual_rule.purchases import Purchase, fill_basket

# A minimum far above the goods is reached in strides, not pack by pack.
STRIDES_TO_MINIMUM = 50


@dataclass(slots=True)
class Line:
    """So many packs of one kind on a truck, and how they came there."""

    pack: PackTerms
    packs: int
    purchases: list[Purchase]
    brought_from: list[date] = field(default_factory=list)  # later or earlier trucks
    padded_packs: int = 0  # bought only to reach the minimum order
    decided: list[ComingLine] = field(default_factory=list)

    @property
    def decided_packs(self) -> int:
        """Return how many of the packs somebody has decided on already."""
        return sum(coming.line.packs for coming in self.decided)

    @property
    def covers_to(self) -> date:
        """Return the last day for which the line is needed."""
        return max(purchase.covers_to for purchase in self.purchases)


@dataclass(slots=True)
class Truck:
    """One delivery of one supplier."""

    delivery: PossibleDelivery
    lines: list[Line] = field(default_factory=list)
    lacked: Decimal = Decimal(0)  # to the minimum order, before anything was done

    @property
    def goods_cost(self) -> Decimal:
        """Return what all lines cost."""
        return goods_cost((self.charged(line), line.packs) for line in self.lines)

    @property
    def purchases(self) -> list[Purchase]:
        """Return what all lines are bought for."""
        return [purchase for line in self.lines for purchase in line.purchases]

    @property
    def is_decided(self) -> bool:
        """Return whether somebody has decided that it comes."""
        return any(line.decided for line in self.lines)

    def charged(self, line: Line) -> PackTerms:
        """Return a line's pack as this delivery charges it."""
        return line.pack.on(self.delivery.deliver_on)

    def take(self, line: Line, *, brought_from: date | None = None) -> None:
        """Put a line on the truck, joined to one of the same pack."""
        if brought_from is not None:
            line.brought_from.append(brought_from)
        for mine in self.lines:
            if mine.pack.pack_id == line.pack.pack_id:
                mine.packs += line.packs
                mine.padded_packs += line.padded_packs
                mine.purchases += line.purchases
                mine.decided += line.decided
                mine.brought_from += line.brought_from
                return
        self.lines.append(line)


@dataclass(slots=True)
class ItemAtEnd:
    """How an item stands when the plan is over, what is bought included."""

    spare_base: float  # above par
    daily_use_base: float


def decided_trucks(decided: Sequence[ComingLine]) -> list[Truck]:
    """Return decided lines on their trucks, by day."""
    lines = [
        (coming.delivery, Line(coming.pack, coming.line.packs, [], decided=[coming]))
        for coming in decided
    ]
    return _loaded([], lines)


def load_onto(loaded: Sequence[Truck], purchases: Sequence[Purchase]) -> list[Truck]:
    """Return trucks with purchases put on them, or on trucks of their own, by day."""
    lines = [
        (purchase.delivery, Line(purchase.pack, purchase.count.packs, [purchase]))
        for purchase in purchases
    ]
    return _loaded(loaded, lines)


def _loaded(
    loaded: Sequence[Truck], lines: Sequence[tuple[PossibleDelivery, Line]]
) -> list[Truck]:
    trucks = {
        (truck.delivery.deliver_on, truck.delivery.supplier): truck for truck in loaded
    }
    for delivery, line in lines:
        key = delivery.deliver_on, delivery.supplier
        trucks.setdefault(key, Truck(delivery)).take(line)
    return [trucks[key] for key in sorted(trucks)]


@dataclass(frozen=True, slots=True)
class MinimumKeeper:
    """Brings trucks up to their suppliers' minimum orders."""

    kitchen: Kitchen
    window: Window
    outlooks: dict[int, ItemAtEnd]  # by node

    def meet_minimums(self, trucks: Sequence[Truck]) -> tuple[Truck, ...]:
        """Change trucks until each reaches its minimum; return those that go.

        A truck that no line can bring up to its minimum is returned as it is.
        """
        by_supplier: dict[int, list[Truck]] = {}
        for truck in trucks:
            by_supplier.setdefault(truck.delivery.supplier, []).append(truck)
        for row in by_supplier.values():
            for place, truck in enumerate(row):
                truck.lacked = self.lacking(truck)
                self._take_from_later(truck, row[place + 1 :])
                self._join_earlier(truck, row[:place])
                self._pad(truck)
        return tuple(truck for truck in trucks if truck.lines)

    def fill_up(self, trucks: Sequence[Truck]) -> None:
        """Bring trucks up to their minimum by more of what they carry, if they can."""
        for truck in trucks:
            truck.lacked = truck.lacked or self.lacking(truck)
            self._pad(truck)

    def can_go(self, truck: Truck) -> bool:
        """Whether a truck reaches its minimum, or somebody has decided on it."""
        return truck.is_decided or not self.lacking(truck)

    def lacking(self, truck: Truck) -> Decimal:
        """Return by how much a truck stays under its minimum order."""
        if not truck.lines:
            return Decimal(0)
        supplier = self.kitchen.suppliers[truck.delivery.supplier]
        return lacking_to_minimum(supplier, truck.goods_cost)

    def _take_from_later(self, truck: Truck, later_trucks: Sequence[Truck]) -> None:
        for later in later_trucks:
            if not self.lacking(truck):
                return
            lines, later.lines = later.lines, []
            for line in lines:
                if not line.decided and self._keeps(line, truck):
                    truck.take(line, brought_from=later.delivery.deliver_on)
                else:
                    later.lines.append(line)

    def _join_earlier(self, truck: Truck, earlier_trucks: Sequence[Truck]) -> None:
        for earlier in reversed(earlier_trucks):
            if truck.is_decided or not earlier.lines or not self.lacking(truck):
                continue
            if all(self._keeps(line, earlier) for line in truck.lines):
                for line in truck.lines:
                    earlier.take(line, brought_from=truck.delivery.deliver_on)
                truck.lines = []
                self._pad(earlier)  # a break may have made it cheaper

    def _keeps(self, line: Line, truck: Truck) -> bool:
        """Whether a line can come with a truck and still be in date to its end."""
        keeps_days = int(self.kitchen.nodes.keeps_days[line.pack.node])
        return is_in_date(keeps_days, truck.delivery.deliver_on, line.covers_to)

    def _pad(self, truck: Truck) -> None:
        """Buy more of what a truck carries until it reaches its minimum, if it can."""
        if not self.lacking(truck):
            return
        supplier = self.kitchen.suppliers[truck.delivery.supplier]
        goods = truck.goods_cost
        paid = [line for line in truck.lines if _is_never_free(truck.charged(line))]
        ranks = [self._padding_rank(line, truck) for line in paid]
        while paid and (lacking := lacking_to_minimum(supplier, goods)):
            line = paid[ranks.index(min(ranks))]
            goods += self._pad_line(line, truck.charged(line), lacking)
            # Of no other item is more left over than before.
            ranks = [
                self._padding_rank(other, truck)
                if other.pack.node == line.pack.node
                else rank
                for other, rank in zip(paid, ranks, strict=True)
            ]

    def _pad_line(self, line: Line, charged: PackTerms, lacking: Decimal) -> Decimal:
        """Put more packs on a line, as it is charged; return how much more it costs."""
        before = line_cost(charged, line.packs)
        step_cost = max(charged.price * charged.multiple, Decimal("0.0001"))
        steps = max(1, math.ceil(lacking / step_cost / STRIDES_TO_MINIMUM))
        packs = steps * charged.multiple
        line.packs += packs
        line.padded_packs += packs
        outlook = self.outlooks[line.pack.node]
        outlook.spare_base += packs * line.pack.size_base
        return line_cost(charged, line.packs) - before

    def _padding_rank(self, line: Line, truck: Truck) -> tuple[int, float, str]:
        """Return how well more of a line serves as padding, the best first.

        What keeps comes first, then what more of is used before it goes out of date,
        then the rest; among equals what will be used up soonest.
        """
        outlook = self.outlooks[line.pack.node]
        name = self.kitchen.nodes.names[line.pack.node].casefold()
        daily_base, spare_base = outlook.daily_use_base, outlook.spare_base
        keeps_days = int(self.kitchen.nodes.keeps_days[line.pack.node])
        cover_days = spare_base / daily_base if daily_base > 0 else math.inf
        if keeps_days == NO_LIMIT_DAYS:
            return 0, cover_days, name
        arrives_early = (self.window.to_on - truck.delivery.deliver_on).days
        days_left = keeps_days - 1 - arrives_early
        after_base = spare_base + line.pack.multiple * line.pack.size_base
        if after_base <= daily_base * days_left:
            return 1, cover_days, name
        return 2, -float(keeps_days), name


def _is_never_free(pack: PackTerms) -> bool:
    return all(price > 0 for price in (pack.price, *(b.price for b in pack.breaks)))


def mend(
    situation: Situation,
    keeper: MinimumKeeper,
    trucks: Sequence[Truck],
    deliveries: Sequence[PossibleDelivery],
    trips: Sequence[PossibleDelivery] = (),
) -> tuple[list[Truck], list[Truck]]:
    """Return the trucks that go, by day, and those that stay below their minimum.

    With what goes nothing lacks that any delivery that can go would help. `trips` are
    the days on which somebody can go to a shop for what nobody delivers in time.
    """
    at_home = [truck for truck in trucks if not keeper.can_go(truck)]
    staying: set[PossibleDelivery] = set()
    loaded = list(trucks)
    while True:
        going = [truck for truck in loaded if keeper.can_go(truck)]
        staying |= {truck.delivery for truck in loaded if not keeper.can_go(truck)}
        basket = fill_basket(
            situation,
            Market(situation.kitchen, _without(deliveries, staying)),
            situation.with_bought(goods_of(going)),
            shops=shops_of(situation, _without(trips, staying)),
        )
        if not basket.purchases:
            return going, at_home
        loaded = load_onto(going, basket.purchases)
        keeper.fill_up(loaded)


def shops_of(situation: Situation, trips: Sequence[PossibleDelivery]) -> Market | None:
    """Return what shops sell on some days; None where there are none."""
    kitchen = situation.kitchen
    return Market(replace(kitchen, packs=kitchen.shop_packs), trips) if trips else None


def _without(
    deliveries: Sequence[PossibleDelivery], left: set[PossibleDelivery]
) -> list[PossibleDelivery]:
    return [each for each in deliveries if each not in left]


def goods_of(trucks: Sequence[Truck]) -> list[Bought]:
    """Return what trucks bring."""
    return [
        (line.pack, line.packs, truck.delivery)
        for truck in trucks
        for line in truck.lines
    ]
