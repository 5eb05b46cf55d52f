"""What the next best way of buying an item would have cost."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from planning.engine.ordering.explain.filling import LineChange
from planning.engine.ordering.explain.found_reasons import (
    FillersReason,
    FixedReason,
    InsteadReason,
    MorePacks,
    NoWay,
    NoWayReason,
)
from planning.engine.ordering.explain.next_best import NextBest
from planning.engine.ordering.instance.bounds import Cell
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection
from planning.engine.reasons import Reason


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
