"""What the next best way of buying an item would have cost, in a sentence.

Nothing here puts a verb behind an item's name: it may be one or many.
"""

from dataclasses import dataclass
from decimal import Decimal

from planning.engine.ordering.question.problems import Problem
from planning.engine.ordering.question.selections import Cell, Selection
from planning.engine.ordering.saying.next_best import Alternative, NextBest, NoWay
from planning.engine.usual.because import counted_packs
from planning.engine.words import day_words, listed
from stock.money_words import money_words

LEAST_MONEY = 0.005
MOST_NAMED = 3
NO_WAY_WORDS = {
    NoWay.TOO_LATE: "No other delivery that is still in time can bring it.",
    NoWay.UNDER_MINIMUM: "Any other way leaves a delivery under its minimum order.",
}


@dataclass(frozen=True, slots=True)
class Instead:
    """Says of the lines of one selection how else they could have been bought."""

    problem: Problem
    selection: Selection
    next_best: NextBest

    def sentence(self, cell: Cell) -> str:
        """Return what a line would have cost with the next best deliveries."""
        if cell in self.problem.fixed:
            return "You have fixed how much of it comes with this delivery."
        way = self.next_best.instead_of(cell)
        if isinstance(way, NoWay):
            return NO_WAY_WORDS[way]
        late = ", which was found too late" if way.dearer <= -LEAST_MONEY else ""
        cost = _dearer(way, self._currency)
        return f"{self._way(cell, way)} {cost}{self._why(way)}{late}."

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
        grown = [line for line in way.lines if line.more > 0]
        if not grown:
            return "Left out, with less of it in all, this"
        places = {packs[line.cell[1]].pack_id for line in grown}
        is_same = places == {packs[cell[1]].pack_id} and len(grown) == 1
        if is_same and grown[0].more == self.selection.counts[cell]:
            return f"From {self._delivery(grown[0].cell[0])} instead, this"
        named = [
            f"{counted_packs(packs[line.cell[1]], line.more)}"
            f"{' more' if line.cell in self.selection.counts else ''}"
            f" from {self._delivery(line.cell[0])}"
            for line in grown
        ]
        return f"As {listed(named, MOST_NAMED)} instead, this"

    def _why(self, way: Alternative) -> str:
        """Return what would have to be added to reach minimum orders."""
        packs, names = self.problem.kitchen.packs, self.problem.kitchen.nodes.names
        added = [
            f"{counted_packs(packs[line.cell[1]], line.more)} of "
            f"{names[packs[line.cell[1]].node]} for the minimum order of "
            f"{self._delivery(line.cell[0])}"
            for line in way.fillers
        ]
        return f", with {listed(added, MOST_NAMED)}" if added else ""


def _dearer(way: Alternative, currency: str) -> str:
    """Return the difference in goods, fees and what is left over."""
    if abs(way.dearer) < LEAST_MONEY:
        return "would cost as much in all"
    money = money_words(Decimal(abs(way.dearer)), currency)
    return f"would cost {money} {'more' if way.dearer > 0 else 'less'} in all"
