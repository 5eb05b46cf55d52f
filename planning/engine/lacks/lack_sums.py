"""How a shortfall's figure comes about: what is wanted, less what is there.

Amounts are float64 in the item's base unit. From the first day that is short to the
day on which most is lacking; below par, over all the days of the plan.
"""

from dataclasses import dataclass
from datetime import date

import numpy as np

from planning.engine.kitchen import Kitchen
from planning.engine.plan import Projection, Shortfall, ShortfallKind


@dataclass(frozen=True, slots=True)
class LackSum:
    """The lines of a lack: the wanted ones, less the others, are `short_base`."""

    from_on: date
    to_on: date
    used_base: float
    expired_base: float
    kept_base: float  # the safety or par that is to stay there
    waits_base: float  # has come, and may not be used before the next day
    opening_base: float
    received_base: float
    later_base: float  # comes on open orders after the plan's last day
    short_base: float


def lack_sum(kitchen: Kitchen, projection: Projection, lack: Shortfall) -> LackSum:
    """Return how the figure of a shortfall comes about."""
    row = projection.nodes.index(lack.node)
    kept_base = _kept_base(kitchen, lack)
    first, last = _days(projection, lack, row, kept_base)
    days = slice(first, last + 1)
    closing_base = float(projection.closing_base[row, last])
    waits_base = later_base = 0.0
    if lack.kind is ShortfallKind.OUT:
        waits_base = lack.short_base + closing_base
    elif lack.kind is ShortfallKind.BELOW_PAR:
        later_base = kept_base - closing_base - lack.short_base
    return LackSum(
        from_on=projection.days[first],
        to_on=projection.days[last],
        used_base=float(projection.used_base[row, days].sum()),
        expired_base=float(projection.expired_base[row, days].sum()),
        kept_base=kept_base,
        waits_base=waits_base,
        opening_base=float(projection.opening_base[row, first]),
        received_base=float(projection.received_base[row, days].sum()),
        later_base=later_base,
        short_base=lack.short_base,
    )


def _kept_base(kitchen: Kitchen, lack: Shortfall) -> float:
    if lack.kind is ShortfallKind.OUT:
        return 0.0
    levels = kitchen.nodes.safety_base
    if lack.kind is ShortfallKind.BELOW_PAR:
        levels = kitchen.nodes.par_base
    return float(levels[lack.node])


def _days(
    projection: Projection, lack: Shortfall, row: int, kept_base: float
) -> tuple[int, int]:
    """Return the first and the last day whose figures make the lack."""
    if lack.kind is ShortfallKind.BELOW_PAR:
        return 0, len(projection.days) - 1
    lacks_base = projection.outstanding_base[row]
    if lack.kind is ShortfallKind.BELOW_SAFETY:
        lacks_base = kept_base - projection.closing_base[row]
    first = projection.days.index(lack.first_on)
    return first, int(np.argmax(lacks_base))
