"""What is still to be made of one thing, after made stock and rounded batches.

Needs come in the order of their day; made stock that is in date on that day serves
them, the earliest use-by first, each gram once. Days are numbers of days after the
plan's first day.
"""

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from planning.engine.demand.batches import batches_to_make
from planning.engine.kitchen import NO_LIMIT_DAYS

FOR_EVER = 10**9  # a use-by that never comes, in days
# A need of which float noise alone is left has been met.
NOISE_FRACTION = 1e-9
# What stock leaves of a need, if it is less than this, is none: what was made and used
# stands in the ledger rounded to 4 places, and nobody makes a thousandth of a gram.
LEAST_NEED_BASE = 0.001


class MadeStock:
    """What lies ready of one thing, by use-by; days asked for never go back."""

    __slots__ = ("_lots",)

    def __init__(self, lots: Iterable[tuple[int, float]] = ()) -> None:
        self._lots = list(lots)
        heapq.heapify(self._lots)

    def put(self, use_by: int, amount_base: float) -> None:
        """Add something that may be used up to and including a day."""
        heapq.heappush(self._lots, (use_by, amount_base))

    def serve(self, wanted_base: float, on: int) -> float:
        """Take what is in date, and return what is still wanted.

        What is left of a need that was served, below `LEAST_NEED_BASE`, is none.
        """
        lots = self._lots
        left_base = wanted_base
        while lots and left_base > 0:
            use_by, amount_base = lots[0]
            if use_by >= on:
                if amount_base > left_base:
                    lots[0] = (use_by, amount_base - left_base)
                    return 0.0
                left_base -= amount_base
            heapq.heappop(lots)
        is_served = left_base < wanted_base
        least_base = LEAST_NEED_BASE if is_served else 0.0
        noise_base = max(wanted_base * NOISE_FRACTION, least_base)
        return left_base if left_base > noise_base else 0.0


@dataclass(frozen=True, slots=True)
class RecipeTerms:
    """How one thing is made."""

    yield_base: float
    loss_fraction: float
    batch_step: float
    keeps_days: int
    capped: Mapping[int, int] = field(default_factory=dict)  # last day by making day

    def last_day(self, made_on: int) -> int:
        """Return the last day on which something made may be used."""
        capped = self.capped.get(made_on, FOR_EVER)
        if self.keeps_days == NO_LIMIT_DAYS:
            return capped
        return min(made_on + self.keeps_days - 1, capped)


@dataclass(slots=True)
class Netted:
    """What netting comes to, for one thing."""

    net_base: list[float]  # of each need: what stock did not serve
    making: list[tuple[int, float, float]]  # making day, batches, surplus_base


def net_needs(
    needs: Sequence[tuple[int, int, float]], terms: RecipeTerms, stock: MadeStock
) -> Netted:
    """Net needs against stock, and make the rest; stock is used up as it goes.

    A need is the day its parent is made, the day this is made for it, and the amount;
    both days never fall from one need to the next. All that one day makes is summed
    and rounded once; what that makes too much is stock for later days of making.
    """
    netted = Netted([], [])
    day_net_base = 0.0
    for place, (parent_on, made_on, amount_base) in enumerate(needs):
        net_base = stock.serve(amount_base, parent_on)
        netted.net_base.append(net_base)
        day_net_base += net_base
        is_last_of_day = place + 1 == len(needs) or needs[place + 1][1] != made_on
        if is_last_of_day and day_net_base > 0:
            _make(netted, made_on, day_net_base, terms, stock)
            day_net_base = 0.0
    return netted


def _make(
    netted: Netted, made_on: int, net_base: float, terms: RecipeTerms, stock: MadeStock
) -> None:
    kept_fraction = 1 - terms.loss_fraction
    mixed_base = net_base / kept_fraction
    batches = batches_to_make(mixed_base / terms.yield_base, terms.batch_step)
    if batches <= 0:
        return
    surplus_base = 0.0
    if terms.batch_step > 0:
        made_base = batches * terms.yield_base * kept_fraction
        surplus_base = max(made_base - net_base, 0.0)
    if surplus_base > net_base * NOISE_FRACTION:
        stock.put(terms.last_day(made_on), surplus_base)
    netted.making.append((made_on, batches, surplus_base))
