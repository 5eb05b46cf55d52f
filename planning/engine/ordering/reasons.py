"""Why a line is on an order: what would happen without it, and what else there was."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from planning.engine.because import Say, day_words, moment_words
from planning.engine.kitchen import BoolColumn, PackTerms
from planning.engine.ordering.options import packs_for, sellable
from planning.engine.ordering.pricing import ItemPricer, Prices
from planning.engine.ordering.problems import Problem
from planning.engine.ordering.selections import (
    Cell,
    Selection,
    Selector,
    line_costs,
)
from planning.engine.ordering.tasks import Choice, Course, Task, follow
from planning.engine.projection import LEAST_LACK_BASE

# The references whose need for a node falls on one of the days.
CakesBehind = Callable[[int, Sequence[date]], Sequence[str]]
MOST_CAKES = 4
LEAST_MONEY = 0.005


@dataclass(frozen=True, slots=True)
class Reasons:
    """Writes the sentences of one selection's lines."""

    problem: Problem
    selection: Selection
    selector: Selector
    pricers: Sequence[ItemPricer]
    say: Say
    cakes_behind: CakesBehind | None

    def sentences(self, cell: Cell) -> tuple[str, ...]:
        """Return why so many packs are on a delivery."""
        truck, place = cell
        pack = self.problem.kitchen.packs[place]
        number = self.selector.task_of_node[pack.node]
        task = self.problem.tasks[number]
        without = self._course(task, cell, 0)
        lacks = _Lacks(task, without)
        return (
            *self._need(task, lacks),
            self._standing(task),
            self._packs(task, cell, lacks),
            *self._keeping(task, cell),
            self._delivery(truck),
            self._else(number, truck),
        )

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

    def _need(self, task: Task, lacks: "_Lacks") -> list[str]:
        """Return what would run short without the line, and whose need it is."""
        name, node = self._name(task), task.node
        safety = float(self.problem.kitchen.nodes.safety_base[node])
        found = []
        if lacks.out.any():
            days = [self._day(day) for day in np.flatnonzero(lacks.out).tolist()]
            short = self.say(node, lacks.most_out_base)
            found.append(
                f"Without it {name} runs out on {day_words(days[0])}, short by up to "
                f"{short}{self._cakes(node, days)}."
            )
        elif lacks.low.any():
            days = [self._day(day) for day in np.flatnonzero(lacks.low).tolist()]
            found.append(
                f"Without it {name} falls below its safety of {self.say(node, safety)} "
                f"on {day_words(days[0])}{self._cakes(node, days)}."
            )
        elif lacks.is_below_par:
            found.append(
                f"Without it {name} ends {day_words(self.problem.window.to_on)} below "
                f"its par of {self.say(node, task.par_base)}."
            )
        else:
            found.append(
                f"{name} does not run short without it: it costs no more than it "
                "saves, in a price break, a minimum order, a delivery fee or later use."
            )
        return found

    def _cakes(self, node: int, days: Sequence[date]) -> str:
        cakes = self.cakes_behind(node, days) if self.cakes_behind else ()
        if not cakes:
            return ""
        named = sorted(cakes)[:MOST_CAKES]
        more = len(cakes) - len(named)
        return f"; needed for {', '.join(named)}" + (
            f" and {more} more" if more else ""
        )

    def _standing(self, task: Task) -> str:
        """Return how the item stands over the whole plan, without orders."""
        node, nodes = task.node, self.problem.kitchen.nodes
        none = follow(task, [0.0] * len(task.offers))
        on_hand = float(task.opening_base.sum())
        coming = float(task.same_day_base.sum() + task.next_day_base.sum())
        used = float(task.used_base.sum())
        wasted = on_hand + coming - used - task.owed_base - float(none.closing_base[-1])
        words = [
            f"On hand {self.say(node, on_hand)}",
            f"on order {self.say(node, coming)}",
            f"used by {day_words(self.problem.window.to_on)} {self.say(node, used)}",
        ]
        if wasted >= LEAST_LACK_BASE:
            words.append(f"out of date by then {self.say(node, wasted)}")
        if nodes.safety_base[node]:
            words.append(f"safety {self.say(node, float(nodes.safety_base[node]))}")
        if task.par_base:
            words.append(f"par {self.say(node, task.par_base)}")
        return f"{', '.join(words)}."

    def _packs(self, task: Task, cell: Cell, lacks: "_Lacks") -> str:
        """Return what the packs hold, and what was added to what is short."""
        pack, packs = self._pack(cell), self.selection.counts[cell]
        words = [
            f"{packs} x {pack.label} hold {self.say(task.node, packs * pack.size_base)}"
        ]
        price = pack.price_at(packs)
        if price != pack.price:
            words.append(
                f"so many cost {self._money(float(price))} each instead of "
                f"{self._money(float(pack.price))}"
            )
        needed = self._fewest_packs(task, cell, lacks)
        sold = sellable(pack, needed)
        if needed < sold:
            words.append(
                f"{sold - needed} more than are short, as at least "
                f"{pack.minimum_packs} are sold, by the {pack.multiple}"
            )
        if lacks.any and sold < packs:
            words.append(
                f"{packs - sold} more than are short, as that is cheaper than to buy "
                f"them another time{self._towards(cell[0])}"
            )
        elif not lacks.any:
            words.append(f"bought ahead{self._towards(cell[0])}")
        return f"{'; '.join(words)}."

    def _pack(self, cell: Cell) -> PackTerms:
        return self.problem.kitchen.packs[cell[1]]

    def _fewest_packs(self, task: Task, cell: Cell, lacks: "_Lacks") -> int:
        """Return how many packs would do with all other lines as they are."""
        if not lacks.any:
            return 0
        pack, high = self._pack(cell), self.selection.counts[cell]
        low = min(high, packs_for(pack, LEAST_LACK_BASE))
        while low < high:
            middle = (low + high) // 2
            if _Lacks(task, self._course(task, cell, middle)).any:
                low = middle + 1
            else:
                high = middle
        return low

    def _towards(self, truck: int) -> str:
        """Return what goods on a delivery are good for beyond themselves."""
        terms = self.problem.terms[truck]
        if terms.minimum:
            goal = f"the minimum order of {self._money(terms.minimum)}"
        elif terms.free_goods:
            goal = f"free delivery from {self._money(terms.free_goods)}"
        else:
            return ""
        return f" and counts towards {goal}"

    def _keeping(self, task: Task, cell: Cell) -> list[str]:
        """Return how long the goods keep, where that ends within the plan."""
        truck = cell[0]
        (offer,) = (offer for offer in task.offers if offer.delivery == truck)
        use_by = int(task.use_by[offer.stock_class])
        if use_by >= task.days - 1:
            return []
        return [
            f"What comes on {day_words(self._day(offer.arrives))} keeps until "
            f"{day_words(self._day(use_by))}."
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
            return f"{words}. All of them share the fee of {self._money(fee)}."
        if terms.fee:
            return (
                f"{words}. So much comes without the fee of {self._money(terms.fee)}."
            )
        return f"{words}."

    def _else(self, number: int, truck: int) -> str:
        """Return what the next best would have cost."""
        pricer, task = self.pricers[number], self.problem.tasks[number]
        prices = Prices.plain(len(self.problem.trucks))
        is_used: BoolColumn = self.selection.goods > 0
        fees = np.array([terms.fee for terms in self.problem.terms])
        prices.charge[:] = np.where(is_used, 0.0, fees)
        prices.is_closed[truck] = True
        found = pricer.cheapest(prices)
        name = self._name(task)
        if found.choice is None:
            return f"No other delivery can bring {name} in time."
        bought = self.selector.bought_base(self.selection.counts, task)
        mine = line_costs(self.problem, self.selection.counts, task.node)
        mine -= self.selector.worth(number, bought)
        dearer = found.value - mine
        other = self._other(task, found.choice, truck)
        if not other:
            return f"No other delivery is better for {name}."
        if dearer < LEAST_MONEY:
            return f"{other} would have served as well."
        return f"The next best, {other}, would have cost {self._money(dearer)} more."

    def _other(self, task: Task, choice: Choice, truck: int) -> str:
        """Return the line of another choice that takes the place of a line."""
        kitchen = self.problem.kitchen
        here = self.problem.trucks[truck].deliver_on
        lines = [
            (abs((self.problem.trucks[offer.delivery].deliver_on - here).days), line)
            for offer, option in zip(task.offers, choice, strict=True)
            for line in ((offer.delivery, *cell) for cell in offer.lines[option])
            if self.selection.counts.get((line[0], line[1])) != line[2]
        ]
        if not lines:
            return ""
        _, (of_truck, place, packs) = min(lines)
        delivery, pack = self.problem.trucks[of_truck], kitchen.packs[place]
        supplier = kitchen.suppliers[delivery.supplier].name
        on = day_words(delivery.deliver_on)
        return f"{packs} x {pack.label} from {supplier} on {on}"

    def _money(self, money: float) -> str:
        return f"{self.problem.kitchen.bakery.currency} {money:.2f}"


class _Lacks:
    """What is short of what could be helped, in one course of an item."""

    def __init__(self, task: Task, course: Course) -> None:
        slack = task.tolerance_base
        more_owed = course.owed_base - task.most_owed_base
        self.out = more_owed > slack
        self.most_out_base = float(course.owed_base.max())
        self.low = course.closing_base < task.least_closing_base - slack
        self.any = bool(self.out.any() or self.low.any())
        last_low = bool(self.low[-1]) and not self.low[:-1].any()
        has_par = task.par_base > float(task.least_closing_base[:-1].max(initial=0.0))
        self.is_below_par = last_low and has_par
        if self.is_below_par:
            self.low = np.zeros_like(self.low)
