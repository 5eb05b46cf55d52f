"""Why a line is on a found order, beside what the usual rule's lines say: records."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum, auto

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import PackTerms
from planning.engine.reasons import Reason


class WithoutLine(Enum):
    """What would happen without a line."""

    OUT = auto()
    STILL_MISSING = auto()  # out already; this makes up for it later
    BELOW_SAFETY = auto()
    BELOW_PAR = auto()
    NOTHING = auto()


@dataclass(frozen=True, slots=True)
class WithoutReason(Reason):
    """What would happen without a line, first on which day, and for which cakes.

    All other lines stay as they are. `amount_base` is the most that would be missing,
    or the level that is not kept; the cakes are all of those that it is missing to,
    also where they are short whatever is bought.
    """

    node: int
    what: WithoutLine
    is_more: bool  # without more of it than was decided on
    on: date | None = None
    amount_base: float = 0.0
    cakes: tuple[str, ...] = ()  # references


class Counted(Enum):
    """What a need holds beside use."""

    NOTHING = auto()
    SAFETY = auto()
    PAR = auto()


class SurplusFor(Enum):
    """What packs beyond the fewest that would do are good for."""

    FIXED = auto()  # by the buyer
    COSTS_NOTHING = auto()
    PRICE_BREAK = auto()
    MINIMUM = auto()
    FREE_DELIVERY = auto()
    LATER_USE = auto()
    NOTHING = auto()  # the search ended too early to leave them out


@dataclass(frozen=True, slots=True)
class Surplus:
    """What more packs are good for, and the money of that.

    `money` is what fewer would cost more, what goods would lack to the minimum order,
    what the delivery's fee is, or what is left is worth; `limit` the minimum order, or
    from where on delivery is free.
    """

    good_for: SurplusFor
    money: float = 0.0
    limit: float = 0.0


@dataclass(frozen=True, slots=True)
class HoldsReason(Reason):
    """What the packs of a line hold, and what need they are for."""

    pack: PackTerms
    packs: int
    need_base: float | None  # None: nothing would be short
    counted: Counted
    decided_packs: int


@dataclass(frozen=True, slots=True)
class BreakPriceReason(Reason):
    """So many packs cost less each."""

    price: Decimal
    usual_price: Decimal


@dataclass(frozen=True, slots=True)
class SoldAsReason(Reason):
    """Packs more than needed because of how the supplier sells them."""

    pack: PackTerms
    more_packs: int
    for_minimum: bool  # of packs that are sold at least so many
    for_multiple: bool


@dataclass(frozen=True, slots=True)
class SurplusReason(Reason):
    """Packs beyond those that a need asks for, and what they are good for."""

    packs: int
    is_for_shortage: bool  # others of the line are for one
    surplus: Surplus
    to_on: date  # the last day of the plan


@dataclass(frozen=True, slots=True)
class SharedDeliveryReason(Reason):
    """The delivery of a line, its goods and its fee."""

    delivery: PossibleDelivery
    goods: float
    fee: float
    spared_fee: float  # that so many goods do without
    is_alone: bool  # no other line is on the delivery


@dataclass(frozen=True, slots=True)
class FixedReason(Reason):
    """The buyer has fixed how much comes with the delivery."""


class NoWay(Enum):
    """Why there is no other way to buy an item."""

    TOO_LATE = auto()  # no other delivery is in time
    UNDER_MINIMUM = auto()  # some delivery would stay under its minimum order


@dataclass(frozen=True, slots=True)
class NoWayReason(Reason):
    """There is no other way to buy a line's item."""

    why: NoWay


@dataclass(frozen=True, slots=True)
class MorePacks:
    """Packs that another way of buying has more of."""

    pack: PackTerms
    packs: int
    delivery: PossibleDelivery
    is_on_order: bool  # others of the kind are on that delivery already


@dataclass(frozen=True, slots=True)
class InsteadReason(Reason):
    """What the next best way of buying an item would cost more in all."""

    grown: tuple[MorePacks, ...]  # of the item
    is_filled: bool  # lines of others grow for minimum orders
    is_same: bool  # the same packs from one other delivery
    is_of_several: bool  # all lines of the item on this delivery are bought otherwise
    dearer: Decimal  # below 0: cheaper, and found too late


@dataclass(frozen=True, slots=True)
class FillersReason(Reason):
    """What another way of buying adds of other items, for minimum orders."""

    fillers: tuple[MorePacks, ...]
