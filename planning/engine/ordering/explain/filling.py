"""More of what a delivery carries anyway, so that it reaches its minimum order."""

from collections import defaultdict
from dataclasses import dataclass

from planning.engine.costing import line_cost, sellable
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import packs_reaching
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Counts, Selection, Selector

MOST_TRIED = 3  # lines whose filling is reckoned in earnest


@dataclass(frozen=True, slots=True)
class LineChange:
    """How many packs more, or fewer, a line has."""

    cell: Cell
    more: int


@dataclass(frozen=True, slots=True)
class Filling:
    """What makes up for goods that are lacking."""

    change: LineChange
    goods: float  # that it adds
    loss: float  # as much of that as is not left over and of use


class Filler:
    """Finds fillings for the deliveries of one selection."""

    def __init__(
        self, problem: Problem, selection: Selection, selector: Selector
    ) -> None:
        self._problem, self._selection = problem, selection
        self._selector = selector
        self._cells_of_truck: dict[int, list[Cell]] = defaultdict(list)
        self._nodes_of_truck: dict[int, set[int]] = defaultdict(set)
        for cell in selection.counts:
            self._cells_of_truck[cell[0]].append(cell)
            node = problem.kitchen.packs[cell[1]].node
            self._nodes_of_truck[cell[0]].add(node)
        self._rates: dict[int, list[tuple[float, float, Cell]]] = {}

    def carries_others(self, truck: int, node: int) -> bool:
        """Whether a delivery brings other items than one."""
        nodes = self._nodes_of_truck.get(truck, set())
        return len(nodes) > (node in nodes)

    def best(
        self, counts: Counts, truck: int, lacking: float, *, but_node: int
    ) -> Filling | None:
        """Return the filling with the least loss; None: no line can take more.

        The item of one node is left as it is. `counts` has all lines of the selection
        that are of other items, some perhaps with more packs.
        """
        packs_of = self._problem.kitchen.packs
        guessed = sorted(
            (share * max(lacking, least), cell)
            for share, least, cell in self._rates_on(truck)
            if packs_of[cell[1]].node != but_node
        )
        tried = []
        for _, cell in guessed[:MOST_TRIED]:
            pack = self._problem.pack(cell)
            packs = min(packs_reaching(pack, counts[cell], lacking), default=0)
            if packs:
                tried.append(self._filling(counts, cell, packs))
        return min(tried, key=lambda filling: filling.loss, default=None)

    def _rates_on(self, truck: int) -> list[tuple[float, float, Cell]]:
        """Return of each line: the lost share of what more costs, the least cost."""
        if truck not in self._rates:
            self._rates[truck] = []
            counts = self._selection.counts
            for cell in self._cells_of_truck[truck]:
                pack = self._problem.pack(cell)
                one_more = sellable(pack, counts[cell] + 1)
                found = self._filling(counts, cell, one_more)
                if found.goods > 0 and cell not in self._problem.fixed:
                    rate = found.loss / found.goods, found.goods, cell
                    self._rates[truck].append(rate)
        return self._rates[truck]

    def _filling(self, counts: Counts, cell: Cell, packs: int) -> Filling:
        pack, has = self._problem.pack(cell), counts[cell]
        number = self._selector.task_of_node[pack.node]
        bought = self._selector.bought_base(counts, self._problem.tasks[number])
        worth = self._selector.worth(number, bought)
        bought[cell[0]] = bought.get(cell[0], 0.0) + (packs - has) * pack.size_base
        goods = float(line_cost(pack, packs) - line_cost(pack, has))
        gained = self._selector.worth(number, bought) - worth
        return Filling(LineChange(cell, packs - has), goods, goods - gained)
