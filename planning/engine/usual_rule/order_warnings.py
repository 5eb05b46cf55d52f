"""What needs a look about some orders: one record a warning."""

from dataclasses import dataclass
from datetime import date

from planning.engine.reasons import OrderWarning
from planning.engine.shortfalls.after_orders import StillLacking


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
