"""What one more cake changes of the suggested orders: lines, deliveries, items."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from planning.engine.costing import NOTHING
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import PackTerms
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
