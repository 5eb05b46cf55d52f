"""For which cakes an item is used, through what, and how much of it for each.

The shares of a day add up to what is used on it. What a making takes is shared among
those whose need made it happen, by how much of it each still needed: what a batch
leaves over is theirs, and what made stock served is nobody's.

How much of something is made on a day: what is needed, less what lies ready.

Amounts are float64 in the base unit of what is made.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np

from planning.engine.demand.explosion import Explosion
from planning.engine.demand.tracing import NodeDay, PeggingStep
from planning.engine.kitchen import NodeKind


@dataclass(frozen=True, slots=True)
class Share:
    """So much of an item, for one line of the bake plan."""

    taker: int  # what takes the item itself: a recipe, a part of it or the cake
    between: tuple[int, ...]  # what stands between the taker and the cake
    reference: str  # of the line of the bake plan
    takes_base: float


@dataclass(slots=True)
class _Part:
    """A line's part of one making."""

    fraction: float
    between: dict[int, None]  # nodes, in the order in which they were found


def shares(
    explosion: Explosion, node: int, days: Collection[date]
) -> tuple[Share, ...]:
    """Return what each line of the bake plan takes of a bought item on some days.

    They add up to the item's demand of these days. Sorted by the taker that takes
    most, then by the line that does.
    """
    takes_base: dict[tuple[int, str], float] = defaultdict(float)
    between: dict[tuple[int, str], dict[int, None]] = defaultdict(dict)
    for day in days:
        steps = _Steps(explosion, node, day)
        for step, amount_base in steps.of_item():
            for reference, part in steps.parts_of(step).items():
                takes_base[step.taker, reference] += amount_base * part.fraction
                between[step.taker, reference] |= part.between
    by_taker: dict[int, float] = defaultdict(float)
    for (taker, _), amount_base in takes_base.items():
        by_taker[taker] += amount_base
    found = [
        Share(taker, tuple(between[taker, reference]), reference, amount_base)
        for (taker, reference), amount_base in takes_base.items()
    ]
    return tuple(
        sorted(
            found,
            key=lambda row: (
                -by_taker[row.taker],
                row.taker,
                -row.takes_base,
                row.reference,
            ),
        )
    )


def used_base(explosion: Explosion, node: int, day: date) -> float:
    """Return what is taken of a node on a day.

    Of a bought item its demand, where one whole gives all its parts; of what is made,
    all that its making of that day is there for.
    """
    column = explosion.prepared.days.column_of(day)
    if column is None:
        return 0.0
    if explosion.prepared.kitchen.nodes.kind[node] == NodeKind.BOUGHT:
        return float(explosion.figures.needed_base[node, column])
    trace = explosion.reasons(node, day)
    return sum(step.takes_base for step in trace if step.node == node)


class _Steps:
    """The steps of one trace, and how each making is shared."""

    def __init__(self, explosion: Explosion, node: int, day: date) -> None:
        self._prepared = explosion.prepared
        self._figures = explosion.figures
        self._node = node
        self._by_cell: dict[NodeDay, list[PeggingStep]] = defaultdict(list)
        trace = explosion.reasons(node, day)
        for step in trace:
            self._by_cell[self._made_at(step)].append(step)
        self._known: dict[NodeDay, dict[str, _Part]] = {}
        self._start = (node, self._column(day) if trace else 0)

    def of_item(self) -> Iterable[tuple[PeggingStep, float]]:
        """Yield what takes the item itself, each with its share of the use.

        One whole gives all its parts, so that these together take less than each
        of them would alone.
        """
        steps = self._by_cell.get(self._start, [])
        is_part = [self._kind(step.taker) == NodeKind.PART for step in steps]
        of_parts_base = sum(
            step.takes_base for step, part in zip(steps, is_part, strict=True) if part
        )
        others_base = sum(step.takes_base for step in steps) - of_parts_base
        used_base = float(self._figures.needed_base[self._start])
        of_wholes_base = max(used_base - others_base, 0.0)
        for step, part in zip(steps, is_part, strict=True):
            share = of_wholes_base / of_parts_base if part else 1.0
            yield step, step.takes_base * share

    def parts_of(self, step: PeggingStep) -> dict[str, _Part]:
        """Return how the taker of a step is shared among lines of the bake plan."""
        if step.reference:
            return {step.reference: _Part(1.0, {})}
        above = (step.taker, self._column(step.on))
        self._share(above)
        return self._known[above]

    def _share(self, asked: NodeDay) -> None:
        """Share a making, and first all above it; recipes may be nested deep."""
        waiting = [asked]
        while waiting:
            cell = waiting[-1]
            steps = self._by_cell.get(cell, [])
            above = [
                (step.taker, self._column(step.on))
                for step in steps
                if not step.reference
            ]
            unknown = [other for other in above if other not in self._known]
            if unknown and cell not in self._known:
                waiting.extend(unknown)
                continue
            waiting.pop()
            self._known.setdefault(cell, self._shared(steps))

    def _shared(self, steps: Iterable[PeggingStep]) -> dict[str, _Part]:
        weights = [(step, self._still_needed_base(step)) for step in steps]
        total_base = sum(weight for _, weight in weights)
        found: dict[str, _Part] = {}
        for step, weight in weights:
            for reference, part in self._above(step).items():
                mine = found.setdefault(reference, _Part(0.0, {}))
                mine.fraction += part.fraction * weight / total_base
                mine.between |= part.between
        return found

    def _above(self, step: PeggingStep) -> dict[str, _Part]:
        if step.reference:
            return {step.reference: _Part(1.0, {})}
        parts = self._known[step.taker, self._column(step.on)]
        return {
            reference: _Part(part.fraction, {step.taker: None, **part.between})
            for reference, part in parts.items()
        }

    def _still_needed_base(self, step: PeggingStep) -> float:
        """Return what a step takes of a making, less what lay ready that day."""
        cell = step.node, self._column(step.on)
        needed_base = float(self._figures.needed_base[cell])
        return step.takes_base * float(self._figures.net_base[cell]) / needed_base

    def _made_at(self, step: PeggingStep) -> NodeDay:
        """Return the making, or the day's need, that a step takes from."""
        column = self._column(step.on)
        if step.node == self._node or self._kind(step.node) != NodeKind.MADE:
            return step.node, column
        lead_days = int(self._prepared.kitchen.nodes.lead_days[step.node])
        return step.node, int(self._prepared.making_days[lead_days].column[column])

    def _kind(self, node: int) -> int:
        return int(self._prepared.kitchen.nodes.kind[node])

    def _column(self, day: date) -> int:
        column = self._prepared.days.column_of(day)
        if column is None:
            raise ValueError(f"{day} is no day of this plan")
        return column


@dataclass(frozen=True, slots=True)
class MakingSum:
    """The lines of a making: `ready_base` is taken off, the others are `made_base`."""

    needed_base: float  # by all that this making is there for
    ready_base: float  # of it, what made stock serves
    lost_base: float
    left_over_base: float  # of whole batches, for later days
    made_base: float


def making_sum(explosion: Explosion, node: int, on: date) -> MakingSum:
    """Return how the amount of a making comes about; of a cake: their numbers."""
    prepared, figures = explosion.prepared, explosion.figures
    nodes, column = prepared.kitchen.nodes, prepared.days.column_of(on)
    made_columns = prepared.making_days[int(nodes.lead_days[node])].column
    is_for = (made_columns == column) & (figures.net_base[node] > 0)
    days = np.flatnonzero(is_for)
    needed_base = float(figures.needed_base[node, days].sum())
    net_base = float(figures.net_base[node, days].sum())
    made_base = float(figures.batches[node, column] * nodes.yield_base[node])
    lost_base = made_base * float(nodes.loss_fraction[node])
    return MakingSum(
        needed_base=needed_base,
        ready_base=needed_base - net_base,
        lost_base=lost_base,
        left_over_base=made_base - lost_base - net_base,
        made_base=made_base,
    )
