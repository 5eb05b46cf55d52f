"""Why more packs of a line are bought than are short."""

from dataclasses import dataclass
from decimal import Decimal

from planning.engine.costing import line_cost
from planning.engine.kitchen import PackTerms
from planning.engine.ordering.explain.found_reasons import Surplus, SurplusFor
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.options import HALF_CENT
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector

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
