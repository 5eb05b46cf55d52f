"""Why a line is on an order of the usual rule: one record a reason.

Some of them are reasons of a search's lines too.

What needs a look about some orders: one record a warning.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import Enum, auto

from planning.engine.decided import ComingLine
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import PackTerms
from planning.engine.plan import ShortfallKind
from planning.engine.reasons import OrderWarning, Reason
from planning.engine.shortfalls.after_orders import StillLacking

# Of what is bought: a smaller rest is none to speak of.
LEAST_OVER_FRACTION = 0.01


class NeedFor(Enum):
    """What an amount is needed for."""

    CAKES = auto()
    PAR = auto()
    SPARING = auto()  # used first, so that older stock is left


@dataclass(frozen=True, slots=True)
class NeedReason(Reason):
    """What would be short from a day on, and how much is bought against it."""

    node: int
    kind: ShortfallKind
    on: date
    need_base: float
    to_on: date  # the last day that it covers
    needed_for: NeedFor
    cakes: tuple[str, ...] = ()  # references


@dataclass(frozen=True, slots=True)
class ItemStanding:
    """How an item stands over the whole plan, without suggested orders."""

    on_hand_base: float  # with what is out of date and still there
    on_order_base: float  # that comes within the plan
    used_base: float
    expired_base: float  # by the end of the plan, what was so before it too


@dataclass(frozen=True, slots=True)
class StandingReason(Reason):
    """How an item stands, and what that comes to where it is all of a need.

    `need_base` is what is wanted, `level_base` of it included, less what is there;
    None where the need is of other days.
    """

    node: int
    standing: ItemStanding
    to_on: date
    need_base: float | None = None
    level_base: float = 0.0


@dataclass(frozen=True, slots=True)
class DecidedReason(Reason):
    """What an order that somebody has decided on brings of an item."""

    coming: ComingLine


class Liking(Enum):
    """Why a pack was taken rather than another."""

    PREFERRED = auto()
    ONLY_ONE = auto()
    NEXT_BEST = auto()  # another would come first, but not in time
    CHEAPEST = auto()


@dataclass(frozen=True, slots=True)
class PacksReason(Reason):
    """What the packs hold and cost, and what they come to beyond the needs."""

    pack: PackTerms  # as the delivery charges it
    packs: int
    bought_base: float  # beside what was decided on
    needs_base: tuple[float, ...]
    liking: Liking
    is_sparing: bool = False
    for_minimum: bool = False  # of packs that are sold at least so many
    for_multiple: bool = False


@dataclass(frozen=True, slots=True)
class KeepsReason(Reason):
    """How long goods keep, where that ends within the plan."""

    node: int
    came_on: date
    use_by: date
    expires_base: float | None = None  # of them; None where it is next to nothing


@dataclass(frozen=True, slots=True)
class DeliveryReason(Reason):
    """The delivery of a line."""

    delivery: PossibleDelivery
    is_last_in_time: bool = False


@dataclass(frozen=True, slots=True)
class LateDeliveryReason(Reason):
    """The first delivery that helps, though none is in time."""

    delivery: PossibleDelivery
    there_on: date  # from when it can be used
    late_days: int


@dataclass(frozen=True, slots=True)
class PassedOverReason(Reason):
    """A pack that is liked better, but that no delivery brings in time."""

    pack: PackTerms


@dataclass(frozen=True, slots=True)
class NoOtherPackReason(Reason):
    """Other packs are sold, but none of them comes in time."""


@dataclass(frozen=True, slots=True)
class NextBestReason(Reason):
    """What the pack that is liked next would have cost for the same needs."""

    pack: PackTerms
    packs: int
    delivery: PossibleDelivery
    cost: Decimal
    own_cost: Decimal  # of the line as it is
    is_own_preferred: bool  # and the other is not


@dataclass(frozen=True, slots=True)
class MovedReason(Reason):
    """A line joined another delivery because of the supplier's minimum order."""

    supplier: int
    from_on: date
    is_for_this_one: bool  # else the one it was moved from would not reach it


@dataclass(frozen=True, slots=True)
class PaddingReason(Reason):
    """Packs that are there only to reach the minimum order."""

    supplier: int
    padded_packs: int
    packs: int
    lacked: Decimal  # of goods, before anything was done


@dataclass(frozen=True, slots=True)
class LackingWarning(OrderWarning):
    """What lacks although the orders come, and no other order helps."""

    lack: StillLacking


@dataclass(frozen=True, slots=True)
class StaysWarning(OrderWarning):
    """A delivery that does not come: its goods do not reach the minimum order."""

    supplier: int
    deliver_on: date
    nodes: tuple[int, ...]  # that it would have brought, by name
