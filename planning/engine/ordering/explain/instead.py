"""What the next best way of buying an item would have cost, in a sentence.

Nothing here puts a verb behind an item's name: it may be one or many.
"""

from dataclasses import dataclass
from decimal import Decimal

from planning.engine.ordering.explain.next_best import Alternative, NextBest, NoWay
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection
from planning.engine.usual_rule.because import counted_packs
from planning.engine.words import day_words, listed
from stock.wording.money_words import money_words

LEAST_MONEY = 0.005
MOST_NAMED = 3
NO_WAY_WORDS = {
    NoWay.TOO_LATE: "No other delivery that is still in time can bring it.",
    NoWay.UNDER_MINIMUM: (
        "Any other way leaves a delivery under its minimum order, with all else bought "
        "as it is."
    ),
}


@dataclass(frozen=True, slots=True)
class Instead:
    """Says of the lines of one selection how else they could have been bought."""

    problem: Problem
    selection: Selection
    next_best: NextBest

    def sentence(self, cell: Cell) -> str:
        """Return what a line would have cost with the next best deliveries.

        All of its item on the delivery is bought otherwise, and of other items only
        what has to be added for minimum orders.
        """
        if cell in self.problem.fixed:
            return "You have fixed how much of it comes with this delivery."
        way = self.next_best.instead_of(cell)
        if isinstance(way, NoWay):
            return NO_WAY_WORDS[way]
        late = ", which was found too late" if way.dearer <= -LEAST_MONEY else ""
        cost = _dearer(way, self._currency)
        return f"{self._way(cell, way)} {cost}{self._all_else(way)}{late}."

    @property
    def _currency(self) -> str:
        return self.problem.kitchen.bakery.currency

    def _delivery(self, truck: int) -> str:
        delivery = self.problem.trucks[truck]
        supplier = self.problem.kitchen.suppliers[delivery.supplier].name
        return f"{supplier} on {day_words(delivery.deliver_on)}"

    def _way(self, cell: Cell, way: Alternative) -> str:
        """Return where the item would come from instead."""
        packs = self.problem.kitchen.packs
        of_all = " of all of it on this delivery" if self._has_others(cell) else ""
        grown = [line for line in way.lines if line.more > 0]
        if not grown:
            out = "All of it on this delivery left out" if of_all else "Left out"
            return f"{out}, with less of it in all, this"
        places = {packs[line.cell[1]].pack_id for line in grown}
        is_same = places == {packs[cell[1]].pack_id} and len(grown) == 1
        if is_same and grown[0].more == self.selection.counts[cell]:
            return f"From {self._delivery(grown[0].cell[0])} instead{of_all}, this"
        named = [
            f"{counted_packs(packs[line.cell[1]], line.more)}"
            f"{' more' if line.cell in self.selection.counts else ''}"
            f" from {self._delivery(line.cell[0])}"
            for line in grown
        ]
        return f"As {listed(named, MOST_NAMED)} instead{of_all}, this"

    def _has_others(self, cell: Cell) -> bool:
        """Whether the item has other lines on the delivery."""
        packs = self.problem.kitchen.packs
        return any(
            other[0] == cell[0]
            and other != cell
            and packs[other[1]].node == packs[cell[1]].node
            for other in self.selection.counts
        )

    def _all_else(self, way: Alternative) -> str:
        """Return that all other lines stay, but for what minimum orders ask for."""
        packs, names = self.problem.kitchen.packs, self.problem.kitchen.nodes.names
        added = [
            f"{counted_packs(packs[line.cell[1]], line.more)} more of "
            f"{names[packs[line.cell[1]].node]} for the minimum order of "
            f"{self._delivery(line.cell[0])}"
            for line in way.fillers
        ]
        but = f" but for {listed(added, MOST_NAMED)}" if added else ""
        return f", with all else bought as it is{but}"


def _dearer(way: Alternative, currency: str) -> str:
    """Return the difference in goods, fees and what is left over."""
    if abs(way.dearer) < LEAST_MONEY:
        return "would cost as much in all"
    money = money_words(Decimal(abs(way.dearer)), currency)
    return f"would cost {money} {'more' if way.dearer > 0 else 'less'} in all"
