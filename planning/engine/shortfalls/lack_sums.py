"""How a shortfall's figure comes about: what is wanted, less what is there.

Amounts are float64 in the item's base unit. From the first day that is short, below par
from the first day of the plan, to the day on which most is lacking.
"""

from dataclasses import dataclass
from datetime import date

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
    later_base: float  # par only: comes on open orders after the last of these days
    short_base: float


def lack_sum(kitchen: Kitchen, projection: Projection, lack: Shortfall) -> LackSum:
    """Return how the figure of a shortfall comes about."""
    row = projection.nodes.index(lack.node)
    kept_base = _kept_base(kitchen, lack)
    is_par = lack.kind is ShortfallKind.BELOW_PAR
    first = 0 if is_par else projection.days.index(lack.first_on)
    last = projection.days.index(lack.most_on)
    days = slice(first, last + 1)
    closing_base = float(projection.closing_base[row, last])
    waits_base = later_base = 0.0
    if lack.kind is ShortfallKind.OUT:
        waits_base = lack.short_base + closing_base
    elif is_par:
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
