"""What needs a look about found orders, beside what lacks: one record a warning."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from planning.engine.plan import ShortfallKind
from planning.engine.reasons import OrderWarning


@dataclass(frozen=True, slots=True)
class UnreachedWarning(OrderWarning):
    """An item that is short though a delivery could help.

    `suppliers` sell it, and the orders reach the minimum of none; empty where the
    search ended too early.
    """

    node: int
    kind: ShortfallKind
    on: date
    suppliers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PassedByWarning(OrderWarning):
    """A supplier left out for its minimum order, though cheaper for some items."""

    supplier: int
    nodes: tuple[int, ...]
    goods: Decimal  # all that it could bring


@dataclass(frozen=True, slots=True)
class WasteWarning(OrderWarning):
    """More than half of the goods are bought for nothing."""

    goods: Decimal
    wasted: Decimal
    is_decided: bool  # somebody has decided on some of them


@dataclass(frozen=True, slots=True)
class UnkeptWarning(OrderWarning):
    """A delivery with fixed lines that does not come for its minimum order."""

    supplier: int
    deliver_on: date


@dataclass(frozen=True, slots=True)
class LeftShortWarning(OrderWarning):
    """What the buyer's wishes leave short, and some other order would have saved."""

    node: int
    kind: ShortfallKind
    on: date
    short_base: float
