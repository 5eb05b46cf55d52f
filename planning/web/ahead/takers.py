"""What takes an item on a day, step by step up to the cakes."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from planning.engine.demand.tracing import PeggingStep
from planning.engine.kitchen import NodeKind
from planning.web.page_words import PageWords, SaidAmount
from planning.web.shortfalls.shortfall_rows import Cake, CakeFinder
from planning.wording.batch_words import batches_words, number_words


@dataclass(frozen=True, slots=True)
class Taker:
    """One recipe, cake or part that takes so much of something on a day."""

    day: str
    takes: SaidAmount
    takes_base: float
    item_id: int
    name: str
    how_much: str  # of the taker is made
    cake: Cake | None  # the line of the bake plan, where the taker is one


@dataclass(frozen=True, slots=True)
class Taken:
    """Something, with all that takes it."""

    item_id: int
    name: str
    takers: list[Taker]


class TakerFinder:
    """Puts the steps of traces into words. One query, for the bake plan."""

    def __init__(
        self, words: PageWords, traces: Sequence[Sequence[PeggingStep]]
    ) -> None:
        self._words = words
        references = {step.reference for trace in traces for step in trace}
        self._cakes = CakeFinder(words, references - {""})

    def nearest(self, node: int, trace: Sequence[PeggingStep]) -> list[Taker]:
        """Return what takes a node itself."""
        return [self._taker(step) for step in trace if step.node == node]

    def steps(self, trace: Sequence[PeggingStep]) -> list[Taken]:
        """Return a whole trace, by what is taken, the nearest first."""
        nodes = self._words.planned.kitchen.nodes
        by_node: dict[int, list[Taker]] = defaultdict(list)
        for step in trace:
            by_node[step.node].append(self._taker(step))
        return [
            Taken(nodes.ids[node], nodes.names[node], takers)
            for node, takers in by_node.items()
        ]

    def _taker(self, step: PeggingStep) -> Taker:
        nodes = self._words.planned.kitchen.nodes
        cake = self._cakes.one(step.reference) if step.reference else None
        return Taker(
            day=self._words.day(step.on),
            takes=self._words.gap(step.node, step.takes_base),
            takes_base=step.takes_base,
            item_id=nodes.ids[step.taker],
            name=nodes.names[step.taker],
            how_much=self._how_much(step),
            cake=cake,
        )

    def _how_much(self, step: PeggingStep) -> str:
        nodes = self._words.planned.kitchen.nodes
        kind = int(nodes.kind[step.taker])
        if kind == NodeKind.CAKE:
            return number_words(step.made_base)
        if kind == NodeKind.MADE:
            return batches_words(step.made_base / float(nodes.yield_base[step.taker]))
        return self._words.amount(step.taker, step.made_base).words
