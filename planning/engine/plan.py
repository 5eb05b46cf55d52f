"""What a plan says: dated demand and making, the shelf day by day, what runs short
and what to buy.

`node` is an index into the kitchen's `Nodes`. Amounts are float64 in base units and
are rounded only by whoever writes them out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from planning.engine.kitchen import (
    BoolColumn,
    DeliveryKey,
    FloatColumn,
    IntColumn,
    PackTerms,
    Window,
)
from planning.engine.plan_warnings import PlanWarning
from planning.engine.reasons import OrderWarning, Reason


@dataclass(frozen=True, slots=True)
class Demand:
    """What the bakes of each day take of bought items, as purchased.

    Columns of equal length, one row per node and day, sorted by day, then by the
    node's name; days as ordinals (`date.toordinal`).
    """

    node: IntColumn
    day: IntColumn
    amount_base: FloatColumn
    is_late: BoolColumn


@dataclass(frozen=True, slots=True)
class Making:
    """What is made of one recipe, or how many of one cake, on one day."""

    node: int
    on: date
    batches: float
    amount_base: float
    surplus_base: float
    mixes: int = 1  # how many times the mixer is filled
    is_late: bool = False


@dataclass(frozen=True, slots=True)
class Projection:
    """The shelf day by day: a row an item, a column a day of the window."""

    nodes: Sequence[int]  # the node of each row, sorted by name
    days: Sequence[date]
    opening_base: FloatColumn
    received_base: FloatColumn
    used_base: FloatColumn
    expired_base: FloatColumn
    closing_base: FloatColumn
    outstanding_base: FloatColumn  # used to date beyond what was usable by then
    is_out: BoolColumn


class ShortfallKind(StrEnum):
    """The three ways to be short, the gravest first."""

    OUT = "out"
    BELOW_SAFETY = "below safety"
    BELOW_PAR = "below par"


@dataclass(frozen=True, slots=True)
class Remedy:
    """The last delivery that still saves it."""

    supplier: int
    pack: PackTerms
    order_by: datetime
    deliver_on: date


@dataclass(frozen=True, slots=True)
class Shortfall:
    """An item that will be missing, the gravest kind it reaches."""

    node: int
    kind: ShortfallKind
    first_on: date
    most_on: date  # the day on which so much is lacking
    short_base: float
    cakes: tuple[str, ...]  # references, sorted
    remedy: Remedy | None


@dataclass(frozen=True, slots=True)
class SuggestedLine:
    """So many packs of one kind on one truck, and why."""

    pack: PackTerms
    packs: int
    price: Decimal  # of each pack, after any break
    line_cost: Decimal  # rounded half up to the cent
    because: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class SuggestedOrder:
    """One truck of one supplier."""

    supplier: int
    order_by: datetime
    deliver_on: date
    lines: tuple[SuggestedLine, ...]
    goods_cost: Decimal
    fee: Decimal

    @property
    def delivery_key(self) -> DeliveryKey:
        """The delivery that it is for."""
        return DeliveryKey(self.supplier, self.deliver_on)

    @property
    def total_cost(self) -> Decimal:
        """Goods and fee."""
        return self.goods_cost + self.fee


@dataclass(frozen=True, slots=True)
class Proof:
    """How close to the best the orders are known to be."""

    status: str  # "proven" or "best found"
    gap: float  # of what the orders cost: the most that better ones save, 0 to 1


@dataclass(frozen=True, slots=True)
class Purchasing:
    """The orders that a way of buying comes to."""

    orders: tuple[SuggestedOrder, ...]
    usual_total: Decimal
    proof: Proof
    warnings: tuple[OrderWarning, ...] = ()

    @property
    def goods_cost(self) -> Decimal:
        """The goods of all orders."""
        return sum((order.goods_cost for order in self.orders), Decimal("0.00"))

    @property
    def fees(self) -> Decimal:
        """The delivery fees of all orders."""
        return sum((order.fee for order in self.orders), Decimal("0.00"))

    @property
    def total_cost(self) -> Decimal:
        """Goods and fees of all orders."""
        return self.goods_cost + self.fees


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything a plan says about one window."""

    window: Window
    demand: Demand
    making: tuple[Making, ...]
    projection: Projection
    shortfalls: tuple[Shortfall, ...]
    purchasing: Purchasing
    warnings: tuple[PlanWarning, ...]
