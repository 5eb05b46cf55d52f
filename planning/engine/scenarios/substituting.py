"""What can stand in for what no delivery can save: how much of it is free, and when.

Free is what nobody else needs: with it gone, on no day of the plan is more of the
substitute lacking, or it further below its own safety. What one lack would take is
gone for the next, so that nothing counts twice. Nothing is done; it is only said.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import numpy as np

from planning.engine.costing import (
    best_price_per_base,
    line_cost,
    packs_to_buy,
)
from planning.engine.deliveries import PossibleDelivery, is_in_date
from planning.engine.kitchen import FloatColumn, Kitchen, Window
from planning.engine.plan import Demand, Remedy, ShortfallKind
from planning.engine.scenarios.one_more import some_rows
from planning.engine.scenarios.rescue import Lost
from planning.engine.shelves.projection import LEAST_LACK_BASE, shelf_days, used_by_day
from planning.engine.shelves.supplies import Supplies, read_shelf
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from stock.wording.money_words import CENT

LackByDay = Sequence[tuple[date, float]]  # base units

# What is free is found at once; a rest of noise takes a second look.
MOST_LOOKS = 5


@dataclass(frozen=True, slots=True)
class UsableSubstitute:
    """What can be used in the place of an item, and how much for how much."""

    node: int  # what it takes the place of
    stand_in: int
    per_base: float  # base units of it for one base unit of what it replaces


@dataclass(frozen=True, slots=True)
class Ordered:
    """What can still be ordered of a substitute, in time for what is left."""

    remedy: Remedy
    packs: int
    cost: Decimal
    covers_base: float  # of what is left
    from_on: date  # the first day that it is in time for


@dataclass(frozen=True, slots=True)
class StandIn:
    """How far a substitute would cover a lack."""

    substitute: UsableSubstitute
    takes_base: float  # of the substitute, from the shelf
    covers_base: float  # of what is lacking
    left_base: float  # of what is lacking: neither from this nor from those before
    is_instead: bool  # what came before it covers everything already
    dearer: Decimal | None  # than as much of what is lacking; None: a price is missing
    ordered: Ordered | None  # for what is left


def find_stand_ins(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    lost: Sequence[Lost],
    substitutes: Iterable[UsableSubstitute],
) -> dict[int, tuple[StandIn, ...]]:
    """Return by node what can stand in for what is lost.

    Substitutes of a node are asked in the order given, each for what those before it
    leave; then those that nothing was left for, for all of it. All that is said to be
    taken can be taken together.
    """
    by_node: dict[int, list[UsableSubstitute]] = defaultdict(list)
    for each in substitutes:
        by_node[each.node].append(each)
    concerned = [each for each in lost if each.node in by_node]
    stand_ins = {each.stand_in for row in concerned for each in by_node[row.node]}
    standing = _StandingIn(kitchen, Market(kitchen, deliveries), window)
    standing.read_shelves(demand, stand_ins)
    found: dict[int, dict[int, StandIn]] = {row.node: {} for row in concerned}
    unasked: list[tuple[Lost, UsableSubstitute]] = []
    for row in concerned:
        left = list(row.by_day)
        for each in by_node[row.node]:
            if not left:
                unasked.append((row, each))
                continue
            found[row.node][each.stand_in], left = standing.take(each, left)
    for row, each in unasked:
        answer, _ = standing.take(each, row.by_day, is_instead=True)
        found[row.node][each.stand_in] = answer
    return {
        row.node: tuple(found[row.node][each.stand_in] for each in by_node[row.node])
        for row in concerned
    }


class _StandingIn:
    """The shelves of the substitutes, with what has been taken of them so far."""

    def __init__(self, kitchen: Kitchen, market: Market, window: Window) -> None:
        self._kitchen = kitchen
        self._market = market
        self._window = window
        self._shelves: dict[int, _OneShelf] = {}

    def read_shelves(self, demand: Demand, nodes: set[int]) -> None:
        """Read the shelves of the substitutes; what is retired has none."""
        shelf = read_shelf(self._kitchen, self._window)
        used_base = used_by_day(shelf, self._window, demand)
        for row, node in enumerate(shelf.nodes):
            if node in nodes:
                self._shelves[node] = _OneShelf(
                    some_rows(shelf, (node,)).supplies,
                    used_base[:, [row]],
                    float(self._kitchen.nodes.safety_base[node]),
                )

    def take(
        self, each: UsableSubstitute, lacking: LackByDay, *, is_instead: bool = False
    ) -> tuple[StandIn, list[tuple[date, float]]]:
        """Take what is free for a lack; return what that covers, and what is left."""
        takes_base = covers_base = 0.0
        left: list[tuple[date, float]] = []
        shelf = self._shelves.get(each.stand_in)
        for on, lack_base in lacking:
            taken_base = 0.0
            if shelf is not None:
                day = (on - self._window.from_on).days
                taken_base = shelf.take(day, lack_base * each.per_base)
            takes_base += taken_base
            rest_base = lack_base - taken_base / each.per_base
            covers_base += lack_base - max(rest_base, 0.0)
            if rest_base >= LEAST_LACK_BASE:
                left.append((on, rest_base))
        stand_in = StandIn(
            substitute=each,
            takes_base=takes_base,
            covers_base=covers_base,
            left_base=sum(rest_base for _, rest_base in left),
            is_instead=is_instead,
            dearer=self._dearer(each, takes_base, covers_base),
            ordered=self._ordered(each, left) if shelf is not None else None,
        )
        return stand_in, left

    def _dearer(
        self, each: UsableSubstitute, takes_base: float, covers_base: float
    ) -> Decimal | None:
        price, usual = (
            best_price_per_base(self._market.packs(node), self._window)
            for node in (each.stand_in, each.node)
        )
        if price is None or usual is None:
            return None
        dearer = price * Decimal(repr(takes_base)) - usual * Decimal(repr(covers_base))
        return dearer.quantize(CENT, rounding=ROUND_HALF_UP)

    def _ordered(self, each: UsableSubstitute, left: LackByDay) -> Ordered | None:
        """Return the last delivery in time for what is left, or for its later days."""
        for place, (on, _) in enumerate(left):
            lack = DatedShortfall(each.stand_in, ShortfallKind.OUT, on)
            remedy = self._market.remedy(lack)
            if remedy is not None:
                return self._order(each, left[place:], remedy)
        return None

    def _order(
        self, each: UsableSubstitute, left: LackByDay, remedy: Remedy
    ) -> Ordered:
        """Return what to order of one delivery for the days on which it is in date."""
        keeps_days = int(self._kitchen.nodes.keeps_days[each.stand_in])
        covers_base = sum(
            lack_base
            for on, lack_base in left
            if is_in_date(keeps_days, remedy.deliver_on, on)
        )
        packs = packs_to_buy(covers_base * each.per_base, remedy.pack).packs
        cost = line_cost(remedy.pack.on(remedy.deliver_on), packs)
        return Ordered(remedy, packs, cost, covers_base, left[0][0])


class _OneShelf:
    """One substitute's shelf: what others take of it, and what is taken here."""

    def __init__(
        self, supplies: Supplies, used_base: FloatColumn, safety_base: float
    ) -> None:
        self._supplies = supplies
        self._safety_base = safety_base
        self._used_base = used_base
        self._gaps_base = self._gaps(used_base)

    def take(self, day: int, wanted_base: float) -> float:
        """Take up to so much on a day, as far as it hurts nobody; return how much.

        What taking more hurts others by, it hurts by exactly: nothing up to what is
        free, then one for one.
        """
        for _ in range(MOST_LOOKS):
            if wanted_base < LEAST_LACK_BASE:
                return 0.0
            used_base = self._used_base.copy()
            used_base[day, 0] += wanted_base
            hurt_base = float((self._gaps(used_base) - self._gaps_base).max())
            if hurt_base < LEAST_LACK_BASE:
                self._used_base = used_base
                self._gaps_base = self._gaps(used_base)
                return wanted_base
            wanted_base -= hurt_base
        return 0.0

    def _gaps(self, used_base: FloatColumn) -> FloatColumn:
        """Return by day what is lacking and what is missing to the safety."""
        figures = shelf_days(self._supplies, used_base)
        below_base = np.maximum(self._safety_base - figures.ends_base[1:], 0.0)
        gaps_base: FloatColumn = np.concatenate([figures.outstanding_base, below_base])
        return gaps_base
