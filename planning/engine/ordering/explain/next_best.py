"""What the next best way of buying an item would have cost, all other items the same.

All of an item is taken off one delivery, and it is bought as cheaply as the others
allow: goods, the fees and minimum orders of every delivery that this touches, and what
is left over count. A delivery that then stays under its minimum order takes more of
what else it carries.

What the next best way of buying an item would have cost.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np

from planning.engine.costing import line_cost
from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.explain.filling import Filler, Filling, LineChange
from planning.engine.ordering.explain.found_reasons import (
    FillersReason,
    FixedReason,
    InsteadReason,
    MorePacks,
    NoWay,
    NoWayReason,
)
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import HALF_CENT
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import (
    Counts,
    Selection,
    Selector,
    fee_of,
    fees_of,
)
from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.items import ItemPricer
from planning.engine.ordering.pricing.tasks import Choice, Offer, Task
from planning.engine.reasons import Reason

BARRED = 1e9  # the cost of what is not allowed; far above any order
SAME_MONEY = 1e-6


@dataclass(frozen=True, slots=True)
class Alternative:
    """A whole selection in which one item is bought otherwise."""

    counts: Counts
    lines: tuple[LineChange, ...]  # of the item
    fillers: tuple[LineChange, ...]  # of others, for minimum orders
    dearer: float  # than the selection; below 0: cheaper
    is_best: bool  # no way without fillers can cost less


class NextBest:
    """Finds the next best way for the lines of one selection."""

    def __init__(
        self, problem: Problem, selection: Selection, selector: Selector
    ) -> None:
        self._problem, self._selection = problem, selection
        self._selector = selector
        self._filler = Filler(problem, selection, selector)
        self._cells_of_node: dict[int, list[Cell]] = defaultdict(list)
        for cell in selection.counts:
            node = problem.kitchen.packs[cell[1]].node
            self._cells_of_node[node].append(cell)
        self._markets: dict[tuple[int, bool], _Market] = {}
        self._ways: dict[tuple[int, int], Alternative | NoWay] = {}

    def instead_of(self, cell: Cell) -> Alternative | NoWay:
        """Return the best way found that buys nothing of the item on that delivery."""
        number = self._selector.task_of_node[self._problem.kitchen.packs[cell[1]].node]
        key = number, cell[0]
        if key not in self._ways:
            self._ways[key] = self._way(*key)
        return self._ways[key]

    def _way(self, number: int, truck: int) -> Alternative | NoWay:
        """Return the better one of a way that may fill deliveries, and one that not.

        Where filling costs no more than was supposed, nothing without it is better.
        """
        market = self._market(number, may_fill=True)
        choice = market.cheapest(truck)
        if isinstance(choice, NoWay):
            return choice
        filled = market.alternative(choice)
        if filled is not None and filled.is_best:
            return filled
        market = self._market(number, may_fill=False)
        choice = market.cheapest(truck)
        found = [filled]
        if not isinstance(choice, NoWay):
            found.append(market.alternative(choice))
        ways = [way for way in found if way is not None]
        return min(ways, key=lambda way: way.dearer, default=NoWay.UNDER_MINIMUM)

    def _market(self, number: int, *, may_fill: bool) -> "_Market":
        key = number, may_fill
        if key not in self._markets:
            self._markets[key] = _Market(
                self._problem,
                self._selection,
                self._selector,
                self._filler,
                number,
                self._cells_of_node[self._problem.tasks[number].node],
                may_fill=may_fill,
            )
        return self._markets[key]


class _Market:
    """One item of a selection, whose goods cost what their deliveries cost with them.

    Where others can fill a delivery up to its minimum order, what is lacking is
    supposed to be paid for nothing.
    """

    def __init__(
        self,
        problem: Problem,
        selection: Selection,
        selector: Selector,
        filler: Filler,
        number: int,
        cells: list[Cell],
        *,
        may_fill: bool,
    ) -> None:
        self._problem, self._selection = problem, selection
        self._selector, self._filler = selector, filler
        self._number, self._cells, self._may_fill = number, cells, may_fill
        self._task = problem.tasks[number]
        self._mine: dict[int, float] = defaultdict(float)  # goods by delivery
        for cell in cells:
            self._mine[cell[0]] += self._goods(cell, selection.counts[cell])
        self._pricer = ItemPricer(self._with_fees())

    def cheapest(self, closed: int) -> Choice | NoWay:
        """Return the cheapest choice that leaves one delivery out."""
        prices = Prices.plain(len(self._problem.trucks))
        prices.is_closed[closed] = True
        found = self._pricer.cheapest(prices)
        if found.choice is None:
            return NoWay.TOO_LATE
        return NoWay.UNDER_MINIMUM if found.value >= BARRED / 2 else found.choice

    def alternative(self, choice: Choice) -> Alternative | None:
        """Return the selection with another choice; None: it cannot be filled up."""
        before = self._selection.counts
        after = {
            (offer.delivery, place): packs
            for offer, option in zip(self._task.offers, choice, strict=True)
            for place, packs in offer.lines[option]
        }
        counts = dict(before)
        for cell in self._cells:
            del counts[cell]
        counts |= after
        bought_on = {truck for truck, _ in after}
        trucks = sorted({*self._mine, *bought_on})
        goods = {truck: self._others(truck) for truck in trucks}
        for cell, packs in after.items():
            goods[cell[0]] += self._goods(cell, packs)
        fillings = []
        for truck in trucks:
            lacking = self._lacking(truck, goods[truck], bought_on)
            if lacking <= HALF_CENT:
                continue
            filling = self._fill(counts, truck, lacking)
            if filling is None:
                return None
            goods[truck] += filling.goods
            fillings.append((lacking, filling))
        fillers = tuple(filling.change for _, filling in fillings)
        return Alternative(
            counts=counts,
            lines=self._changes(before, after),
            fillers=fillers,
            dearer=self._dearer(counts, goods, fillers, bought_on),
            is_best=all(
                filling.loss <= lacking + SAME_MONEY for lacking, filling in fillings
            ),
        )

    def _changes(self, before: Counts, after: Counts) -> tuple[LineChange, ...]:
        """Return the item's own lines that change."""
        return tuple(
            LineChange(cell, more)
            for cell in sorted({*self._cells, *after})
            if (more := after.get(cell, 0) - before.get(cell, 0))
        )

    def _goods(self, cell: Cell, packs: int) -> float:
        return float(line_cost(self._problem.pack(cell), packs))

    def _others(self, truck: int) -> float:
        """Return the goods of other items on a delivery."""
        return float(self._selection.goods[truck]) - self._mine.get(truck, 0.0)

    def _comes_anyway(self, truck: int) -> bool:
        return self._filler.carries_others(truck, self._task.node)

    def _with_fees(self) -> Task:
        return replace(
            self._task,
            offers=tuple(
                replace(offer, cost=offer.cost + self._surcharge(offer))
                for offer in self._task.offers
            ),
        )

    def _surcharge(self, offer: Offer) -> FloatColumn:
        """Return the fee of a delivery and what its minimum order asks for on top."""
        terms = self._problem.terms[offer.delivery]
        comes_anyway = self._comes_anyway(offer.delivery)
        goods = offer.cost + self._others(offer.delivery)
        lacking = np.asarray(terms.minimum - goods)
        is_filled = comes_anyway and self._may_fill
        extra = np.where(lacking > HALF_CENT, lacking if is_filled else BARRED, 0.0)
        fees = fees_of(terms, goods)
        return np.asarray((offer.is_used | comes_anyway) * (fees + extra))

    def _lacking(self, truck: int, goods: float, bought_on: set[int]) -> float:
        """Return what a delivery lacks to its minimum order, if it comes at all."""
        comes = self._comes_anyway(truck) or truck in bought_on
        return self._problem.terms[truck].minimum - goods if comes else 0.0

    def _fill(
        self, counts: dict[Cell, int], truck: int, lacking: float
    ) -> Filling | None:
        """Add packs of another item to a delivery."""
        node = self._task.node
        filling = self._filler.best(counts, truck, lacking, but_node=node)
        if filling is not None:
            counts[filling.change.cell] += filling.change.more
        return filling

    def _dearer(
        self,
        counts: Counts,
        goods: dict[int, float],
        fillers: tuple[LineChange, ...],
        bought_on: set[int],
    ) -> float:
        """Return what goods, fees and left-overs of all that has changed cost more."""
        before, dearer = self._selection, 0.0
        for truck, after in goods.items():
            comes = self._comes_anyway(truck) or truck in bought_on
            fee = fee_of(self._problem.terms[truck], after) if comes else 0.0
            dearer += after - float(before.goods[truck]) + fee
            dearer -= float(before.fees[truck])
        packs = self._problem.kitchen.packs
        nodes = {self._task.node, *(packs[each.cell[1]].node for each in fillers)}
        for node in sorted(nodes):
            dearer -= self._worth(node, counts) - self._worth(node, before.counts)
        return dearer

    def _worth(self, node: int, counts: Counts) -> float:
        number = self._selector.task_of_node[node]
        bought = self._selector.bought_base(counts, self._problem.tasks[number])
        return self._selector.worth(number, bought)


@dataclass(frozen=True, slots=True)
class AlternativeReasons:
    """Tells of the lines of one selection how else they could have been bought."""

    problem: Problem
    selection: Selection
    next_best: NextBest

    def reasons(self, cell: Cell) -> list[Reason]:
        """Return what a line would have cost with the next best deliveries.

        All of its item on the delivery is bought otherwise, and of other items only
        what has to be added for minimum orders.
        """
        if cell in self.problem.fixed:
            return [FixedReason()]
        way = self.next_best.instead_of(cell)
        if isinstance(way, NoWay):
            return [NoWayReason(way)]
        grown = self._more(line for line in way.lines if line.more > 0)
        packs, pack_id = self.selection.counts[cell], self._pack_id(cell)
        instead = InsteadReason(
            grown=grown,
            is_filled=bool(way.fillers),
            is_same=[(each.pack.pack_id, each.packs) for each in grown]
            == [(pack_id, packs)],
            is_of_several=self._has_others(cell),
            dearer=Decimal(way.dearer),
        )
        fillers = self._more(way.fillers)
        return [instead, *([FillersReason(fillers)] if fillers else [])]

    def _pack_id(self, cell: Cell) -> int:
        return self.problem.kitchen.packs[cell[1]].pack_id

    def _more(self, lines: Iterable[LineChange]) -> tuple[MorePacks, ...]:
        packs, trucks = self.problem.kitchen.packs, self.problem.trucks
        return tuple(
            MorePacks(
                packs[line.cell[1]],
                line.more,
                trucks[line.cell[0]],
                is_on_order=line.cell in self.selection.counts,
            )
            for line in lines
        )

    def _has_others(self, cell: Cell) -> bool:
        """Whether the item has other lines on the delivery."""
        packs = self.problem.kitchen.packs
        return any(
            other[0] == cell[0]
            and other != cell
            and packs[other[1]].node == packs[cell[1]].node
            for other in self.selection.counts
        )
