"""What a plan warns of: one record for each kind of warning.

`node` is an index into the kitchen's `Nodes`, `supplier` one into its suppliers.
Amounts are float64 in the node's base unit.
"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from planning.engine.kitchen import NodeKind
from planning.engine.reasons import OrderWarning


@dataclass(frozen=True, slots=True)
class OverdueCake:
    """A planned cake that was due before the plan begins, so it is left out."""

    reference: str
    node: int
    due_on: date


@dataclass(frozen=True, slots=True)
class MadeLate:
    """Something that should have been made before the plan begins."""

    node: int
    days_late: int
    planned_on: date  # the plan's first day


@dataclass(frozen=True, slots=True)
class MadeTooEarly:
    """Something that is made for a need later than it keeps."""

    node: int
    made_on: date
    needed_on: date
    keeps_days: int


@dataclass(frozen=True, slots=True)
class NoUseBy:
    """Something made that stands in stock without a use-by date."""

    node: int


@dataclass(frozen=True, slots=True)
class PartLeftOver:
    """So much of a part that no later day uses in date."""

    node: int
    on: date
    amount_base: float


@dataclass(frozen=True, slots=True)
class RetiredNeeded:
    """Something retired that planned cakes still need."""

    node: int
    kind: NodeKind  # BOUGHT, MADE or CAKE
    first_on: date


@dataclass(frozen=True, slots=True)
class OverdueOrder:
    """A line of an open order that should have come before the plan begins."""

    reference: str
    supplier: int
    node: int
    due_on: date
    days_late: int


class WhyNot(StrEnum):
    """Why a plan does not count on an order that was decided on."""

    SHOPPING_LIST = "shopping_list"
    NEVER_SENT = "never_sent"
    PAST_CUT_OFF = "past_cut_off"
    NO_DELIVERY = "no_delivery"
    NOT_SOLD = "not_sold"  # a pack of it


@dataclass(frozen=True, slots=True)
class NotCounted:
    """An approved or changed order, or lines of one, that cannot come any more."""

    reference: str
    is_approved: bool  # else a draft that was changed by hand
    supplier: int
    deliver_on: date
    why: WhyNot
    cut_off: datetime | None = None  # that is past, in the bakery's zone


@dataclass(frozen=True, slots=True)
class UnderMinimum(OrderWarning):
    """An order that somebody decided on, and that stays under the minimum order."""

    supplier: int
    deliver_on: date
    minimum: Decimal


@dataclass(frozen=True, slots=True)
class StockUnknownBefore:
    """The plan is seen from a moment before the first movement of stock."""

    first_at: datetime  # of that movement, in the bakery's zone


DemandWarning = (
    OverdueCake | MadeLate | MadeTooEarly | NoUseBy | PartLeftOver | RetiredNeeded
)
PlanWarning = DemandWarning | OverdueOrder | NotCounted | StockUnknownBefore
