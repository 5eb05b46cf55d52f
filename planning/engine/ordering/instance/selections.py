"""A whole set of orders as packs by delivery: what it costs, and whether it will do."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planning.engine.costing import line_cost, sellable
from planning.engine.kitchen import FloatColumn, PackTerms
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import HALF_CENT, packs_reaching
from planning.engine.ordering.instance.problems import Problem, TruckTerms
from planning.engine.ordering.pricing.tasks import Choice, Task, outcome

Counts = Mapping[Cell, int]

SMALL_STEPS = 1_000  # of filling up, before only what reaches in one step is left
MOST_STEPS = 1_100


@dataclass(frozen=True, slots=True)
class Selection:
    """Packs by delivery, with their figures."""

    counts: Counts
    goods: FloatColumn  # by delivery
    fees: FloatColumn
    worth: float  # of all that is left over, whoever bought it
    is_enough: bool  # nothing is short that could be helped
    can_go: bool  # every delivery reaches its minimum

    @property
    def paid(self) -> float:
        """Goods and fees."""
        return float(self.goods.sum() + self.fees.sum())

    @property
    def cost(self) -> float:
        """Goods and fees less what is left over is worth."""
        return self.paid - self.worth

    @property
    def will_do(self) -> bool:
        """Whether it can be ordered and leaves nothing short that could be helped."""
        return self.is_enough and self.can_go


def fee_of(terms: TruckTerms, goods: float) -> float:
    """Return the fee of a delivery with so much on it."""
    is_free = terms.free_from is not None and goods >= terms.free_from - HALF_CENT
    return 0.0 if is_free else terms.fee


def fees_of(terms: TruckTerms, goods: FloatColumn) -> FloatColumn:
    """Return the fees of a delivery with such and such goods on it."""
    if terms.free_from is None:
        return np.full(len(goods), terms.fee)
    return np.where(goods >= terms.free_from - HALF_CENT, 0.0, terms.fee)


class Selector:
    """Makes selections of one problem."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self.task_of_node = {task.node: n for n, task in enumerate(problem.tasks)}
        self._outcomes: dict[tuple[int, tuple[float, ...]], tuple[bool, float]] = {}
        self._packs_of_supplier: dict[int, list[int]] = defaultdict(list)
        self._places_of_node: dict[int, list[int]] = defaultdict(list)
        for place, pack in enumerate(problem.kitchen.packs):
            self._places_of_node[pack.node].append(place)
            if pack.node in self.task_of_node:
                self._packs_of_supplier[pack.supplier].append(place)

    def of_choices(self, choices: Sequence[Choice]) -> Selection:
        """Return what a choice for every task comes to, minimums reached."""
        counts: dict[Cell, int] = {}
        for task, choice in zip(self._problem.tasks, choices, strict=True):
            for offer, option in zip(task.offers, choice, strict=True):
                for place, packs in offer.lines[option]:
                    counts[offer.delivery, place] = packs
        return self.topped_up(counts)

    def of_counts(self, counts: Counts) -> Selection:
        """Return the figures of some packs."""
        trucks = len(self._problem.trucks)
        goods, fees = np.zeros(trucks), np.zeros(trucks)
        bought: dict[int, dict[int, float]] = defaultdict(lambda: defaultdict(float))
        is_used = np.zeros(trucks, dtype=np.bool_)
        for (truck, place), packs in counts.items():
            pack = self._problem.pack((truck, place))
            goods[truck] += float(line_cost(pack, packs))
            is_used[truck] = True
            task = self.task_of_node[pack.node]
            bought[task][truck] += packs * pack.size_base
        can_go = True
        for truck in np.flatnonzero(is_used).tolist():
            terms = self._problem.terms[truck]
            fees[truck] = fee_of(terms, goods[truck])
            can_go &= bool(goods[truck] >= terms.minimum - HALF_CENT)
        worth, enough = 0.0, True
        for number, task_ in enumerate(self._problem.tasks):
            mine = bought.get(number, {})
            is_task_enough, task_worth = self._outcome(number, task_, mine)
            enough &= is_task_enough
            worth += task_worth
        return Selection(dict(counts), goods, fees, worth, enough, can_go)

    def _outcome(
        self, number: int, task: Task, bought_base: Mapping[int, float]
    ) -> tuple[bool, float]:
        amounts = tuple(bought_base.get(offer.delivery, 0.0) for offer in task.offers)
        key = (number, amounts)
        if key not in self._outcomes:
            found = outcome(task, amounts)
            self._outcomes[key] = found.is_enough, found.worth_left
        return self._outcomes[key]

    def is_enough(self, number: int, bought_base: Mapping[int, float]) -> bool:
        """Whether nothing of a task's item is short that could be helped."""
        return self._outcome(number, self._problem.tasks[number], bought_base)[0]

    def worth(self, number: int, bought_base: Mapping[int, float]) -> float:
        """Return what is left over of a task's item is worth."""
        return self._outcome(number, self._problem.tasks[number], bought_base)[1]

    def topped_up(self, counts: Counts) -> Selection:
        """Return packs with as many more as the minimum orders ask for.

        More is also taken where it makes a delivery free and that is cheaper.
        """
        selection = self.of_counts(counts)
        for truck in sorted({truck for truck, _ in counts}):
            terms, goods = self._problem.terms[truck], selection.goods[truck]
            if goods < terms.minimum - HALF_CENT:
                selection = self._filled(selection, truck, terms.minimum)
            goods, free_goods = selection.goods[truck], terms.free_goods
            if free_goods and free_goods - terms.fee < goods < free_goods - HALF_CENT:
                fuller = self._filled(selection, truck, free_goods)
                if fuller.cost < selection.cost:
                    selection = fuller
        return selection

    def _filled(self, selection: Selection, truck: int, goods: float) -> Selection:
        """Return a selection with enough on a truck, the least loss first."""
        counts, there = dict(selection.counts), float(selection.goods[truck])
        places = self._packs_of_supplier[self._problem.trucks[truck].supplier]
        steps_of = {
            place: self._steps(counts, truck, place, goods - there) for place in places
        }
        for number in range(MOST_STEPS):
            lacking = goods - there
            if lacking <= HALF_CENT:
                break
            steps = [
                (loss / min(more, lacking), more, place, packs)
                for place, found in steps_of.items()
                for packs, more, loss in found
            ]
            if not steps:
                break
            if number >= SMALL_STEPS:
                reaching = [step for step in steps if step[1] >= lacking - HALF_CENT]
                steps = reaching or steps
            _, more, place, packs = min(steps)
            counts[truck, place] = packs
            there += more
            node = self._problem.kitchen.packs[place].node
            for mine in self._places_of_node[node]:
                if mine in steps_of:
                    left = goods - there
                    steps_of[mine] = self._steps(counts, truck, mine, left)
        return self.of_counts(counts)

    def _steps(
        self, counts: Counts, truck: int, place: int, lacking: float
    ) -> list[tuple[int, float, float]]:
        """Return ways to take more of a pack: packs, what it costs, what is lost."""
        pack = self._problem.pack((truck, place))
        number = self.task_of_node[pack.node]
        task = self._problem.tasks[number]
        is_offered = any(offer.delivery == truck for offer in task.offers)
        if not is_offered or (truck, place) in self._problem.fixed:
            return []
        has = counts.get((truck, place), 0)
        found = []
        ways = {sellable(pack, has + 1), _not_quite_reaching(pack, has, lacking)}
        for packs in sorted(ways.union(packs_reaching(pack, has, lacking))):
            more = float(line_cost(pack, packs) - line_cost(pack, has))
            if more <= 0:
                continue
            before = self.bought_base(counts, task)
            after = dict(before)
            after[truck] = after.get(truck, 0.0) + (packs - has) * pack.size_base
            gained = self._outcome(number, task, after)[1]
            gained -= self._outcome(number, task, before)[1]
            found.append((packs, more, more - gained))
        return found

    def bought_base(self, counts: Counts, task: Task) -> dict[int, float]:
        """Return what some packs bring of a task's item, by delivery."""
        packs_of = self._problem.kitchen.packs
        bought: dict[int, float] = {}
        for offer in task.offers:
            truck = offer.delivery
            for place in self._places_of_node[task.node]:
                packs = counts.get((truck, place), 0)
                if packs:
                    brought_base = packs * packs_of[place].size_base
                    bought[truck] = bought.get(truck, 0.0) + brought_base
        return bought


def _not_quite_reaching(pack: PackTerms, has: int, lacking: float) -> int:
    """Return packs that may leave a little for another item to fill up."""
    price = float(pack.price_at(has + 1))
    more = int(lacking / price) if price else 0
    return sellable(pack, has + max(1, more))
