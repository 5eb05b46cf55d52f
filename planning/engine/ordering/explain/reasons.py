"""Why a line is on an order: what would happen without it, and what else there was.

No verb that has a plural stands behind an item's name: it may be one or many.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

import numpy as np

from planning.engine.cakes_named import cakes_words
from planning.engine.decided import ComingLine, coming_lines, decided_words
from planning.engine.kitchen import PackTerms
from planning.engine.ordering.explain.instead import Instead
from planning.engine.ordering.explain.next_best import NextBest
from planning.engine.ordering.explain.shortages import Shortages
from planning.engine.ordering.explain.surplus import Surplus
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import packs_for, sellable
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector
from planning.engine.ordering.pricing.tasks import Course, Task, follow
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shortfalls.shortfalls import CakesBehind
from planning.engine.usual_rule.because import (
    LEAST_OVER_FRACTION,
    counted_packs,
)
from planning.engine.usual_rule.standing import (
    SaidBase,
    Say,
    Sayings,
    Standing,
    standing_words,
)
from planning.engine.words import day_words, moment_words
from stock.wording.money_words import money_words


@dataclass(frozen=True, slots=True)
class Reasons:
    """Writes the sentences of one selection's lines.

    `say` words an amount as it is counted, `content` what is in the packs;
    `said_base` is what such words come to as they stand, and `exactly` says an
    amount unrounded.
    """

    problem: Problem
    selection: Selection
    selector: Selector
    say: Say
    content: Say
    cakes_behind: CakesBehind | None
    said_base: SaidBase | None = None
    exactly: Say | None = None
    instead: Instead = field(init=False)
    surplus: Surplus = field(init=False)
    coming: tuple[ComingLine, ...] = field(init=False)

    def __post_init__(self) -> None:
        coming = coming_lines(self.problem.kitchen, self.problem.trucks)
        object.__setattr__(self, "coming", coming)
        given = self.problem, self.selection, self.selector
        instead = Instead(self.problem, self.selection, NextBest(*given))
        object.__setattr__(self, "instead", instead)
        object.__setattr__(self, "surplus", Surplus(*given))

    def sentences(self, cell: Cell) -> tuple[str, ...]:
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
            self._need(
                task, short, without, "Without more of it" if least else "Without it"
            ),
            self._standing(task),
            *decided,
            self._packs(task, cell, short),
            *self._keeping(task, cell),
            self._delivery(truck),
            *([] if least else [self.instead.sentence(cell)]),
        )

    def _decided(self, cell: Cell) -> list[str]:
        """Return what somebody has decided on brings of an item, a line's own first."""
        pack = self.problem.kitchen.packs[cell[1]]
        mine = [each for each in self.coming if each.pack.node == pack.node]
        own = self.problem.trucks[cell[0]], pack.pack_id
        mine.sort(key=lambda each: (each.delivery, each.pack.pack_id) != own)
        return [
            decided_words(each, counted_packs(each.pack, each.line.packs))
            for each in mine
        ]

    def _name(self, task: Task) -> str:
        return self.problem.kitchen.nodes.names[task.node]

    def _amounts(self, task: Task, cell: Cell, packs: int) -> list[float]:
        """Return what each offer brings, with so many packs of one line."""
        counts = {**self.selection.counts, cell: packs}
        bought = self.selector.bought_base(counts, task)
        return [bought.get(offer.delivery, 0.0) for offer in task.offers]

    def _course(self, task: Task, cell: Cell, packs: int) -> Course:
        return follow(task, self._amounts(task, cell, packs))

    def _day(self, day: int) -> date:
        return self.problem.window.from_on + timedelta(days=day)

    def _need(self, task: Task, short: Shortages, without: Course, lacking: str) -> str:
        """Return what would run short without the line, and whose need it is.

        `lacking` begins the sentence: without it, or more of it than was decided on.
        """
        name, node = self._name(task), task.node
        if short.out.any():
            days = [self._day(day) for day in np.flatnonzero(short.out).tolist()]
            amount = self.content(node, short.most_out_base)
            return (
                f"{lacking} {name} would run out on {day_words(days[0])}, with up to "
                f"{amount} missing{self._cakes(node, days)}."
            )
        if short.low.any():
            days = [self._day(day) for day in np.flatnonzero(short.low).tolist()]
            safety = task.safety_base
            if not safety:  # nothing in time helps, but this makes up for it later
                missing = float(-without.closing_base[short.low].min())
                return (
                    f"{lacking} up to {self.content(node, missing)} of {name} would "
                    f"still be missing after {day_words(days[0])}"
                    f"{self._cakes(node, days)}."
                )
            return (
                f"{lacking} {name} would fall below the safety of "
                f"{self.content(node, safety)} on {day_words(days[0])}"
                f"{self._cakes(node, days)}."
            )
        if short.below_par.any():
            first = self._day(int(np.argmax(short.below_par)))
            return (
                f"{lacking} {name} would not reach the par of "
                f"{self.content(node, task.par_base)} on {day_words(first)}."
            )
        return f"{lacking} {name} would not run short."

    def _cakes(self, node: int, days: Sequence[date]) -> str:
        behind = self.cakes_behind(node, days) if self.cakes_behind else ()
        cakes = cakes_words(self.problem.kitchen, behind)
        return f"; needed for {cakes}" if cakes else ""

    def _standing(self, task: Task) -> str:
        none = follow(task, [0.0] * len(task.offers))
        on_hand = float(task.opening_base.sum())
        coming = float(task.same_day_base.sum() + task.next_day_base.sum())
        used = float(task.used_base.sum())
        left = float(none.closing_base[-1])
        expired = on_hand + coming - used - task.owed_base - left
        return standing_words(
            self.problem.kitchen,
            self.problem.window,
            task.node,
            Standing(on_hand, coming, used, expired),
            Sayings(self.say, self.content, self.said_base, self.exactly),
        )

    def _packs(self, task: Task, cell: Cell, short: Shortages) -> str:
        """Return what the packs hold, and what was added to what is short."""
        pack, packs = self._pack(cell), self.selection.counts[cell]
        held = self.content(task.node, packs * pack.size_base)
        verb = "holds" if packs == 1 else "hold"
        need = self._need_words(task, short) if short.any else ""
        least = self.problem.decided.get(cell, 0)
        if least:
            rest = f" and the rest{need}" if need else ""
            need = f", {least:,} of them decided on{rest}"
        words = [f"{counted_packs(pack, packs)} {verb} {held}{need}"]
        price = pack.price_at(packs)
        if price != pack.price:
            words.append(
                f"so many cost {self._money(float(price))} each instead of "
                f"{self._money(float(pack.price))}"
            )
        needed = max(least, self._fewest_packs(task, cell, short))
        sold = sellable(pack, needed) if needed > least else least
        if needed < sold:
            words.append(
                f"{sold - needed:,} more than needed, {_sold_as(pack, needed)}"
            )
        if sold < packs:
            reason = self.surplus.words(cell, sold)
            more = (
                f"{packs - sold:,} more than needed" if sold else "not for a shortage"
            )
            words.append(f"{more}, {reason}")
        return f"{'; '.join(words)}."

    def _need_words(self, task: Task, short: Shortages) -> str:
        """Return how much the line must bring, and what that holds beside use."""
        words = f" for a need of {self.content(task.node, short.most_base)}"
        is_more = short.most_base > short.most_out_base + task.tolerance_base
        if is_more and short.is_most_for_par:
            return f"{words}, nine tenths of par counted"
        return f"{words}, safety counted" if is_more and task.safety_base else words

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

    def _keeping(self, task: Task, cell: Cell) -> list[str]:
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
        wasted = self.content(task.node, wasted_base)
        is_felt = wasted_base >= LEAST_OVER_FRACTION * bought_base
        more = f": {wasted} of it will expire" if is_felt else ""
        return [
            f"What comes on {day_words(self._day(offer.arrives))} keeps until "
            f"{day_words(self._day(use_by))}{more}."
        ]

    def _delivery(self, truck: int) -> str:
        delivery, terms = self.problem.trucks[truck], self.problem.terms[truck]
        name = self.problem.kitchen.suppliers[delivery.supplier].name
        goods, fee = self.selection.goods[truck], self.selection.fees[truck]
        words = (
            f"{name} comes on {day_words(delivery.deliver_on)} with goods for "
            f"{self._money(goods)}; order by {moment_words(delivery.order_by)}"
        )
        if fee:
            lines = sum(cell[0] == truck for cell in self.selection.counts)
            shared = "All lines share the fee of {}."
            alone = "The fee of {} is for this line alone."
            said = (alone if lines == 1 else shared).format(self._money(fee))
            return f"{words}. {said}"
        if terms.fee:
            return (
                f"{words}. So much comes without the fee of {self._money(terms.fee)}."
            )
        return f"{words}."

    def _money(self, money: float) -> str:
        return money_words(Decimal(money), self.problem.kitchen.bakery.currency)


def _sold_as(pack: PackTerms, needed: int) -> str:
    """Return how the supplier sells a pack, where that makes an order larger."""
    by_the = f"{pack.multiple:,} at a time"
    if needed >= pack.minimum_packs:
        return f"as they are sold {by_the}"
    least = f"as at least {pack.minimum_packs:,} are sold"
    return f"{least}, {by_the}" if pack.minimum_packs % pack.multiple else least
