"""Why a line is on an order: what would happen without it, and what else there was.

What is short in one course of an item that a delivery could have helped.

Why more packs of a line are bought than are short.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from planning.engine.costing import line_cost, packs_for, sellable
from planning.engine.decided import ComingLine, coming_lines
from planning.engine.kitchen import BoolColumn, PackTerms
from planning.engine.ordering.explain.found_reasons import (
    BreakPriceReason,
    Counted,
    HoldsReason,
    SharedDeliveryReason,
    SoldAsReason,
    Surplus,
    SurplusFor,
    SurplusReason,
    WithoutLine,
    WithoutReason,
)
from planning.engine.ordering.explain.next_best import AlternativeReasons, NextBest
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import HALF_CENT
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector
from planning.engine.ordering.pricing.tasks import Course, Task, follow
from planning.engine.reasons import Reason
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shortfalls.shortfalls import CakesBehind
from planning.engine.usual_rule.line_reasons import (
    LEAST_OVER_FRACTION,
    DecidedReason,
    ItemStanding,
    KeepsReason,
    StandingReason,
)

LEAST_MONEY = 0.005


@dataclass(frozen=True, slots=True)
class Surpluses:
    """Tells what the packs of one selection's lines beyond the fewest are good for."""

    problem: Problem
    selection: Selection
    selector: Selector

    def of(self, cell: Cell, fewest: int) -> Surplus:
        """Return what the packs are good for beyond the fewest that would do."""
        if cell in self.problem.fixed:
            return Surplus(SurplusFor.FIXED)
        return (
            self._break(cell, fewest)
            or self._minimum(cell, fewest)
            or self._free_delivery(cell, fewest)
            or self._later(cell, fewest)
            or Surplus(SurplusFor.NOTHING)
        )

    def _pack(self, cell: Cell) -> PackTerms:
        return self.problem.pack(cell)

    def _saved(self, cell: Cell, fewest: int) -> Decimal:
        """Return how much less the fewest packs would cost."""
        pack, packs = self._pack(cell), self.selection.counts[cell]
        return line_cost(pack, packs) - line_cost(pack, fewest)

    def _break(self, cell: Cell, fewest: int) -> Surplus | None:
        saved = self._saved(cell, fewest)
        if saved > 0:
            return None
        if not saved:
            return Surplus(SurplusFor.COSTS_NOTHING)
        return Surplus(SurplusFor.PRICE_BREAK, float(-saved))

    def _goods_then(self, cell: Cell, fewest: int) -> float:
        return float(self.selection.goods[cell[0]]) - float(self._saved(cell, fewest))

    def _still_comes(self, cell: Cell, fewest: int) -> bool:
        """Whether the delivery comes with the fewest packs of this line."""
        return fewest > 0 or any(
            other[0] == cell[0] and other != cell for other in self.selection.counts
        )

    def _minimum(self, cell: Cell, fewest: int) -> Surplus | None:
        minimum = self.problem.terms[cell[0]].minimum
        lacking = minimum - self._goods_then(cell, fewest)
        if lacking <= HALF_CENT or not self._still_comes(cell, fewest):
            return None
        return Surplus(SurplusFor.MINIMUM, lacking, minimum)

    def _free_delivery(self, cell: Cell, fewest: int) -> Surplus | None:
        terms = self.problem.terms[cell[0]]
        is_free = terms.fee and not self.selection.fees[cell[0]]
        free_from = terms.free_from or 0.0
        goods = self._goods_then(cell, fewest)
        if not is_free or goods >= free_from - HALF_CENT:
            return None
        if not self._still_comes(cell, fewest):
            return None
        return Surplus(SurplusFor.FREE_DELIVERY, terms.fee, free_from)

    def _later(self, cell: Cell, fewest: int) -> Surplus | None:
        """Return what the packs are worth when the plan is over."""
        node = self._pack(cell).node
        number = self.selector.task_of_node[node]
        task, counts = self.problem.tasks[number], self.selection.counts
        worth = [
            self.selector.worth(number, self.selector.bought_base(mine, task))
            for mine in (counts, {**counts, cell: fewest})
        ]
        gained = worth[0] - worth[1]
        if gained < LEAST_MONEY:
            return None
        return Surplus(SurplusFor.LATER_USE, gained)


class Shortages:
    """By day: what runs out, what is below safety, and what is below par alone.

    `most_out_base` is missing at one time, `most_base` with safety and par counted;
    `is_most_for_par` says whether it is par that makes it so much.
    """

    def __init__(self, task: Task, course: Course) -> None:
        slack = task.tolerance_base
        more_owed_base = course.owed_base - task.most_owed_base
        self.out = more_owed_base > slack
        self.most_out_base = float(more_owed_base.max())
        for_safety_base = np.minimum(task.least_closing_base, task.safety_base)
        self.low = for_safety_base - course.closing_base > slack
        low_base = task.least_closing_base - course.closing_base
        self.below_par = (low_base > slack) & ~self.low
        self.most_base = max(self.most_out_base, float(low_base.max()))
        self.any = bool(self.out.any() or (low_base > slack).any())
        day = int(np.argmax(low_base))
        self.is_most_for_par = bool(
            task.least_closing_base[day] > for_safety_base[day] + slack
        )


@dataclass(frozen=True, slots=True)
class Reasons:
    """Gives the reasons of one selection's lines."""

    problem: Problem
    selection: Selection
    selector: Selector
    cakes_behind: CakesBehind | None = None
    instead: AlternativeReasons = field(init=False)
    surpluses: Surpluses = field(init=False)
    coming: tuple[ComingLine, ...] = field(init=False)

    def __post_init__(self) -> None:
        coming = coming_lines(self.problem.kitchen, self.problem.trucks)
        object.__setattr__(self, "coming", coming)
        given = self.problem, self.selection, self.selector
        instead = AlternativeReasons(self.problem, self.selection, NextBest(*given))
        object.__setattr__(self, "instead", instead)
        object.__setattr__(self, "surpluses", Surpluses(*given))

    def of(self, cell: Cell) -> tuple[Reason, ...]:
        """Return why so many packs are on a delivery."""
        truck, place = cell
        pack = self.problem.kitchen.packs[place]
        task = self.problem.tasks[self.selector.task_of_node[pack.node]]
        decided = self._decided(cell)
        least = self.problem.decided.get(cell, 0)
        if least == self.selection.counts[cell]:
            return (
                *decided,
                self._standing(task),
                *self._keeping(task, cell),
                self._delivery(truck),
            )
        without = self._course(task, cell, least)
        short = Shortages(task, without)
        return (
            self._without(task, short, without, is_more=least > 0),
            self._standing(task),
            *decided,
            *self._packs(task, cell, short),
            *self._keeping(task, cell),
            self._delivery(truck),
            *([] if least else self.instead.reasons(cell)),
        )

    def _decided(self, cell: Cell) -> list[DecidedReason]:
        """Return what somebody has decided on brings of an item, a line's own first."""
        pack = self.problem.kitchen.packs[cell[1]]
        mine = [each for each in self.coming if each.pack.node == pack.node]
        own = self.problem.trucks[cell[0]], pack.pack_id
        mine.sort(key=lambda each: (each.delivery, each.pack.pack_id) != own)
        return [DecidedReason(each) for each in mine]

    def _amounts(self, task: Task, cell: Cell, packs: int) -> list[float]:
        """Return what each offer brings, with so many packs of one line."""
        counts = {**self.selection.counts, cell: packs}
        bought = self.selector.bought_base(counts, task)
        return [bought.get(offer.delivery, 0.0) for offer in task.offers]

    def _course(self, task: Task, cell: Cell, packs: int) -> Course:
        return follow(task, self._amounts(task, cell, packs))

    def _day(self, day: int) -> date:
        return self.problem.window.from_on + timedelta(days=day)

    def _days(self, is_short: BoolColumn) -> list[date]:
        return [self._day(day) for day in np.flatnonzero(is_short).tolist()]

    def _without(
        self, task: Task, short: Shortages, without: Course, *, is_more: bool
    ) -> WithoutReason:
        """Return what would run short without the line, and whose need it is.

        Compared are the same orders with the line and without it, not other orders.
        """
        node = task.node
        if short.out.any():
            days = self._days(short.out)
            cakes = self._cakes(node, self._days(_since_owed(short.out, without)))
            return WithoutReason(
                node, WithoutLine.OUT, is_more, days[0], short.most_out_base, cakes
            )
        if short.low.any():
            days = self._days(short.low)
            what, amount_base = WithoutLine.BELOW_SAFETY, task.safety_base
            if not amount_base:  # nothing in time helps: this makes up for it later
                what = WithoutLine.STILL_MISSING
                amount_base = float(-without.closing_base[short.low].min())
            cakes = self._cakes(node, self._days(_since_owed(short.low, without)))
            return WithoutReason(node, what, is_more, days[0], amount_base, cakes)
        if short.below_par.any():
            first = self._days(short.below_par)[0]
            par_base = task.par_base
            return WithoutReason(node, WithoutLine.BELOW_PAR, is_more, first, par_base)
        return WithoutReason(node, WithoutLine.NOTHING, is_more)

    def _cakes(self, node: int, days: Sequence[date]) -> tuple[str, ...]:
        return tuple(self.cakes_behind(node, days)) if self.cakes_behind else ()

    def _standing(self, task: Task) -> StandingReason:
        none = follow(task, [0.0] * len(task.offers))
        on_hand = float(task.opening_base.sum())
        coming = float(task.same_day_base.sum() + task.next_day_base.sum())
        used = float(task.used_base.sum())
        left = float(none.closing_base[-1])
        expired = on_hand + coming - used - task.owed_base - left
        gone = task.expired_base
        standing = ItemStanding(on_hand + gone, coming, used, expired + gone)
        return StandingReason(task.node, standing, self.problem.window.to_on)

    def _packs(self, task: Task, cell: Cell, short: Shortages) -> list[Reason]:
        """Return what the packs hold, and what was added to what is short."""
        pack, packs = self._pack(cell), self.selection.counts[cell]
        least = self.problem.decided.get(cell, 0)
        need_base = short.most_base if short.any else None
        counted = _counted(task, short)
        found: list[Reason] = [HoldsReason(pack, packs, need_base, counted, least)]
        price = pack.price_at(packs)
        if price != pack.price:
            found.append(BreakPriceReason(price, pack.price))
        needed = max(least, self._fewest_packs(task, cell, short))
        sold = sellable(pack, needed) if needed > least else least
        if needed < sold:
            least_sold = max(needed, pack.minimum_packs)
            found.append(
                SoldAsReason(
                    pack,
                    sold - needed,
                    for_minimum=needed < least_sold,
                    for_multiple=least_sold < sold,
                )
            )
        if sold < packs:
            surplus, to_on = self.surpluses.of(cell, sold), self.problem.window.to_on
            found.append(SurplusReason(packs - sold, sold > 0, surplus, to_on))
        return found

    def _pack(self, cell: Cell) -> PackTerms:
        return self.problem.pack(cell)

    def _fewest_packs(self, task: Task, cell: Cell, short: Shortages) -> int:
        """Return how many packs would do with all other lines as they are."""
        if not short.any:
            return 0
        pack, high = self._pack(cell), self.selection.counts[cell]
        low = min(high, packs_for(pack, LEAST_LACK_BASE))
        while low < high:
            middle = (low + high) // 2
            if Shortages(task, self._course(task, cell, middle)).any:
                low = middle + 1
            else:
                high = middle
        return low

    def _keeping(self, task: Task, cell: Cell) -> list[KeepsReason]:
        """Return how long the goods keep, where that ends within the plan.

        What goes out of date is what is left of them on their last day, at most what
        is bought: other stock with the same use-by goes first.
        """
        (offer,) = (offer for offer in task.offers if offer.delivery == cell[0])
        use_by = int(task.use_by[offer.stock_class])
        if use_by >= task.days - 1:
            return []
        amounts_base = self._amounts(task, cell, self.selection.counts[cell])
        bought_base = sum(
            amount_base
            for other, amount_base in zip(task.offers, amounts_base, strict=True)
            if other.stock_class == offer.stock_class
        )
        left_base = follow(task, amounts_base).left_base[use_by, offer.stock_class]
        wasted_base = min(float(left_base), bought_base)
        is_felt = wasted_base >= LEAST_OVER_FRACTION * bought_base
        return [
            KeepsReason(
                task.node,
                self._day(offer.arrives),
                self._day(use_by),
                wasted_base if is_felt else None,
            )
        ]

    def _delivery(self, truck: int) -> SharedDeliveryReason:
        fee = float(self.selection.fees[truck])
        return SharedDeliveryReason(
            self.problem.trucks[truck],
            goods=float(self.selection.goods[truck]),
            fee=fee,
            spared_fee=0.0 if fee else float(self.problem.terms[truck].fee),
            is_alone=sum(cell[0] == truck for cell in self.selection.counts) == 1,
        )


def _since_owed(is_short: BoolColumn, course: Course) -> BoolColumn:
    """Return the short days, and those before on which what is short was owed already.

    What is missing on a day is missing to the cakes of those days too.
    """
    since = is_short.copy()
    for day in range(len(since) - 2, -1, -1):
        since[day] |= since[day + 1] and course.owed_base[day] >= LEAST_LACK_BASE
    return since


def _counted(task: Task, short: Shortages) -> Counted:
    """Return what a need holds beside use."""
    is_more = short.most_base > short.most_out_base + task.tolerance_base
    if is_more and short.is_most_for_par:
        return Counted.PAR
    return Counted.SAFETY if is_more and task.safety_base else Counted.NOTHING
