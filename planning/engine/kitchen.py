"""What a plan is worked out from: a whole kitchen as plain values.

Everything that has a name is a node: bought items, parts of a whole, recipes and
cakes. A node is known by its index in the columns of `Nodes`; `Nodes.ids` gives the
identity that the caller knows it by. Amounts are float64 in the node's own base unit
(g, mL or each), shown by the suffix `_base`. A day is a `datetime.date`; a moment is
an aware `datetime`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from decimal import Decimal
from enum import IntEnum
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

FloatColumn = npt.NDArray[np.float64]
IntColumn = npt.NDArray[np.int64]
BoolColumn = npt.NDArray[np.bool_]

NO_LIMIT_DAYS = -1  # in keeps_days: it does not go out of date
NO_NODE = -1  # in whole: it is not a part


class NodeKind(IntEnum):
    """What a node is; only bought nodes have demand, projection and orders."""

    BOUGHT = 0
    PART = 1
    MADE = 2
    CAKE = 3


class Scale(IntEnum):
    """What a line of a cake's recipe is multiplied by; see `geometry`."""

    CAKE = 0
    VOLUME = 1
    FILLING = 2
    SURFACE = 3
    TIER = 4


@dataclass(frozen=True, slots=True)
class Nodes:
    """One row for everything that has a name; columns of equal length."""

    ids: Sequence[int]
    names: Sequence[str]
    units: Sequence[str]  # g, mL or each
    kind: IntColumn  # NodeKind
    retired: BoolColumn
    safety_base: FloatColumn  # 0 where none is set
    par_base: FloatColumn  # 0 where none is set
    keeps_days: IntColumn  # NO_LIMIT_DAYS where none is set
    whole: IntColumn  # of a part: the node it is taken from; else NO_NODE
    part_yields_base: FloatColumn  # of a part: from 1 each of the whole; else 0
    yield_base: FloatColumn  # of a recipe: one batch; else 0
    batch_step: FloatColumn  # 0: any amount
    loss_fraction: FloatColumn  # 0 <= loss < 1
    lead_days: IntColumn
    base_size: Sequence[str]  # of a cake, as typed; "" where none
    largest_batch: FloatColumn  # in batches; 0 where none is set
    # Of a recipe: it keeps no longer than what went into it. Left out, none does.
    caps_use_by: BoolColumn = field(default_factory=lambda: np.zeros(0, dtype=np.bool_))

    def __post_init__(self) -> None:
        if len(self.caps_use_by) != len(self.names):
            nothing = np.zeros(len(self.names), dtype=np.bool_)
            object.__setattr__(self, "caps_use_by", nothing)

    def net_yield_base(self, nodes: IntColumn | int) -> FloatColumn:
        """Return what is left of one batch of each recipe after its loss; else 0."""
        net_base: FloatColumn = self.yield_base[nodes] * (1 - self.loss_fraction[nodes])
        return net_base


@dataclass(frozen=True, slots=True)
class Lines:
    """One row for every recipe line; columns of equal length."""

    recipe: IntColumn  # node
    component: IntColumn  # node
    quantity_base: FloatColumn  # edible, for one batch
    yield_fraction: FloatColumn  # edible out of as purchased, 0 < y <= 1
    scale: IntColumn  # Scale


@dataclass(frozen=True, slots=True)
class PlannedCakes:
    """One row for every line of the bake plan that is live; columns of equal length."""

    references: Sequence[str]
    due_on: Sequence[date]
    cake: IntColumn  # node
    sizes: Sequence[str]  # as typed; "" is the cake's base size
    quantity: FloatColumn
    tentative: BoolColumn


@dataclass(frozen=True, slots=True)
class StockLots:
    """One row for every lot on hand at the moment of the plan."""

    node: IntColumn  # bought, part or made
    amount_base: FloatColumn
    use_by: Sequence[date | None]  # None: it does not go out of date


@dataclass(frozen=True, slots=True)
class OpenOrderLines:
    """One row for every line of an open order, received or not."""

    references: Sequence[str]
    supplier: IntColumn  # index into Kitchen.suppliers
    node: IntColumn
    amount_base: FloatColumn  # still to come
    due_on: Sequence[date]


class DeliveryKey(NamedTuple):
    """Which delivery of a plan it is: whose, and on which day."""

    supplier: int  # index into Kitchen.suppliers
    deliver_on: date


class SupplierDay(NamedTuple):
    """Which delivery it is whatever the plan: places in a kitchen move, ids stay."""

    supplier_id: int
    deliver_on: date


@dataclass(frozen=True, slots=True)
class DecidedLine:
    """A line of an order that somebody approved, or of a draft that somebody changed.

    It is not on order yet, but no plan replaces it: at least so much comes.
    """

    reference: str
    is_approved: bool  # else a draft
    pack_id: int
    packs: int
    supplier: int  # index into Kitchen.suppliers
    deliver_on: date

    @property
    def delivery_key(self) -> DeliveryKey:
        """The delivery that is to bring it."""
        return DeliveryKey(self.supplier, self.deliver_on)


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """From so many packs on, all packs of the line cost this much each."""

    from_packs: int
    price: Decimal


@dataclass(frozen=True, slots=True)
class PackTerms:
    """One way to buy a node."""

    pack_id: int
    node: int
    supplier: int  # index into Kitchen.suppliers
    label: str
    called: str
    code: str
    size_base: float
    price: Decimal  # of one pack, without breaks
    minimum_packs: int = 1
    multiple: int = 1
    breaks: tuple[PriceBreak, ...] = ()  # by from_packs, ascending
    preferred: bool = False
    next_price: Decimal | None = None  # of one pack, without breaks
    next_price_from: date | None = None  # the first delivery that costs it

    def on(self, deliver_on: date) -> "PackTerms":
        """Return the pack as a delivery on this day charges it."""
        if self.next_price is None or self.next_price_from is None:
            return self
        if deliver_on < self.next_price_from:
            return self
        return replace(
            self,
            price=self.next_price,
            breaks=(),
            next_price=None,
            next_price_from=None,
        )

    def prices(self, from_on: date, to_on: date) -> tuple[Decimal, ...]:
        """Return all that one pack can cost on deliveries of some days."""
        first, last = self.on(from_on), self.on(to_on)
        now = (first.price, *(step.price for step in first.breaks))
        return now if last.price == first.price else (*now, last.price)

    def price_at(self, packs: int) -> Decimal:
        """Return the price of each pack when so many are bought on one delivery."""
        price = self.price
        for price_break in self.breaks:
            if packs >= price_break.from_packs:
                price = price_break.price
        return price


@dataclass(frozen=True, slots=True)
class SupplierTerms:
    """When a supplier's truck comes, and what it asks for."""

    supplier_id: int
    name: str
    delivery_weekdays: tuple[int, ...]  # Monday is 0
    cutoff_days: int
    cutoff_time: time
    usable_next_day: bool
    minimum_order: Decimal = Decimal(0)
    delivery_fee: Decimal = Decimal(0)
    free_delivery_from: Decimal | None = None  # None: never
    closed_on: frozenset[date] = frozenset()
    # Where cut-offs differ by the delivery's weekday: (Monday is 0, days before).
    cutoff_days_by_weekday: tuple[tuple[int, int], ...] = ()
    # One goes there: no truck, so it takes no part in orders, remedies or par days.
    is_shop: bool = False


@dataclass(frozen=True, slots=True)
class BakeryTerms:
    """The bakery's own calendar and settings."""

    zone_key: str  # IANA, for the moments of cut-offs
    currency: str
    closed_weekdays: frozenset[int] = frozenset()
    closed_on: frozenset[date] = frozenset()
    layer_height_cm: float = 3.81
    leftover_worth: float = 0.9
    par_weekdays: frozenset[int] = frozenset({6})  # at whose close par stands

    def is_closed(self, day: date) -> bool:
        """Whether nobody bakes on this day and nothing new is ordered for it."""
        return day.weekday() in self.closed_weekdays or day in self.closed_on


@dataclass(frozen=True, slots=True)
class Kitchen:
    """A whole kitchen at one moment."""

    bakery: BakeryTerms
    nodes: Nodes
    lines: Lines
    cakes: PlannedCakes
    lots: StockLots
    open_orders: OpenOrderLines
    suppliers: tuple[SupplierTerms, ...] = ()
    packs: tuple[PackTerms, ...] = ()  # of suppliers that deliver
    shop_packs: tuple[PackTerms, ...] = ()  # of shops: kept apart, as said there
    decided: tuple[DecidedLine, ...] = ()  # of orders that were not sent yet


@dataclass(frozen=True, slots=True)
class Window:
    """The days that a plan speaks of, and the moment it is made at."""

    as_of: datetime  # aware
    from_on: date
    days: int
    tentative: bool = True  # whether tentative cakes are planned for
    to_on: date = field(init=False)

    def __post_init__(self) -> None:
        if self.days < 1:
            raise ValueError(f"days must be 1 or more, not {self.days}")
        to_on = date.fromordinal(self.from_on.toordinal() + self.days - 1)
        object.__setattr__(self, "to_on", to_on)
