"""What one more cake changes of the suggested orders: lines, deliveries, items.

How the orders of one plan differ from those of another, item by item.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from decimal import Decimal

from planning.engine.costing import NOTHING
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import PackTerms
from planning.engine.plan import SuggestedOrder
from planning.engine.shelves.supplies import Bought


@dataclass(frozen=True, slots=True)
class UnpricedLine:
    """A line before it is known what it costs."""

    pack: PackTerms
    delivery: PossibleDelivery
    more_packs: int
    is_for_cake: bool


@dataclass(frozen=True, slots=True)
class MoreLine:
    """One pack on one delivery: how many are suggested, how many the cake adds."""

    pack: PackTerms
    packs: int
    more_packs: int  # 0: what is suggested is enough, but has to be ordered
    more_cost: Decimal
    is_for_cake: bool  # the cake itself needs it; False: later cakes do


@dataclass(frozen=True, slots=True)
class MoreOrder:
    """One delivery that the cake, or a later one, depends on."""

    delivery: PossibleDelivery
    lines: tuple[MoreLine, ...]
    is_new: bool  # nothing else is suggested on it
    is_beyond: bool  # it comes on a day that no orders are suggested for yet
    more_fee: Decimal  # below 0 where the goods now reach free delivery
    under_minimum: Decimal  # by how much its goods stay under the supplier's minimum

    @property
    def is_for_cake(self) -> bool:
        """Whether the cake itself needs it."""
        return any(line.is_for_cake for line in self.lines)

    @property
    def filling_cost(self) -> Decimal:
        """What has to be added, of anything, for the delivery to come at all.

        Nothing where it would come without the cake, or where nobody has planned yet
        what else comes with it.
        """
        return self.under_minimum if self.is_new and not self.is_beyond else NOTHING

    @property
    def more_cost(self) -> Decimal:
        """What the delivery costs more, with what fills it up."""
        lines = sum((line.more_cost for line in self.lines), NOTHING)
        return lines + self.more_fee + self.filling_cost


@dataclass(slots=True)
class ItemOrders:
    """What has to be ordered of one item, and what no order brings."""

    node: int
    serves_by: date | None = None  # the cake's last use, where it lacks the item itself
    needed: list[Bought] = field(default_factory=list)  # of what is suggested
    added: list[Bought] = field(default_factory=list)
    lacking_on: date | None = None
    lacking_base: float = 0.0

    def serves(self, delivery: PossibleDelivery) -> bool:
        """Whether a delivery comes in time for the cake, which lacks the item."""
        return self.serves_by is not None and delivery.usable_on <= self.serves_by


@dataclass(frozen=True, slots=True)
class Buy:
    """So many packs of one kind on one delivery."""

    supplier: int
    deliver_on: date
    order_by: datetime
    pack: PackTerms
    packs: int

    @property
    def key(self) -> tuple[int, date, int, int]:
        """What makes two the same, whatever a pack costs."""
        return self.supplier, self.deliver_on, self.pack.pack_id, self.packs


@dataclass(frozen=True, slots=True)
class OrderChange:
    """What is bought of one item in the one plan, and instead in the other."""

    node: int
    was: tuple[Buy, ...]  # by delivery; empty where it was not bought
    would: tuple[Buy, ...]

    @property
    def sides(self) -> tuple[tuple[Buy, ...], tuple[Buy, ...]]:
        """What is bought in the one plan, and in the other."""
        return self.was, self.would

    @property
    def first_at(self) -> datetime:
        """The first cut-off that it touches, in UTC."""
        return min(buy.order_by for buy in (*self.was, *self.would)).astimezone(UTC)


def order_changes(
    before: Iterable[SuggestedOrder], after: Iterable[SuggestedOrder]
) -> tuple[OrderChange, ...]:
    """Return the items that are bought otherwise, by the first cut-off it touches.

    Otherwise means another day, supplier, pack or number of packs; prices alone do
    not count.
    """
    was, would = _by_node(before), _by_node(after)
    changes = [
        OrderChange(node, tuple(was.get(node, ())), tuple(would.get(node, ())))
        for node in was.keys() | would.keys()
        if [buy.key for buy in was.get(node, ())]
        != [buy.key for buy in would.get(node, ())]
    ]
    return tuple(sorted(changes, key=lambda change: (change.first_at, change.node)))


def _by_node(orders: Iterable[SuggestedOrder]) -> dict[int, list[Buy]]:
    found: dict[int, list[Buy]] = defaultdict(list)
    for order in sorted(orders, key=lambda order: (order.deliver_on, order.supplier)):
        for line in sorted(order.lines, key=lambda line: line.pack.pack_id):
            found[line.pack.node].append(
                Buy(
                    order.supplier,
                    order.deliver_on,
                    order.order_by,
                    line.pack,
                    line.packs,
                )
            )
    return dict(found)
