"""What a page shows of each shortfall: its sentence, what saves it, cakes, picture."""

from collections.abc import Iterable
from dataclasses import dataclass

from planning.engine.plan import Shortfall, ShortfallKind
from planning.models import PlannedCake
from planning.plan.planner import Planned
from planning.web.page_words import PageWords, SaidAmount
from planning.web.shelf.shelf_days import ShelfLine, ShelfLines
from stock.ledger import levels

CAKES_NAMED = 3
# How a state's sentence is marked, by kind; see components/state_sentence.html.
MARKS = {
    ShortfallKind.OUT: "short",
    ShortfallKind.BELOW_SAFETY: "low",
    ShortfallKind.BELOW_PAR: "well",
}


@dataclass(frozen=True, slots=True)
class Cake:
    """A line of the bake plan: what it is asked for by, and what it is."""

    pk: int | None
    reference: str
    cake_name: str
    due_words: str


@dataclass(frozen=True, slots=True)
class CakeList:
    """Lines of the bake plan: a few are named, the others one tap away."""

    first: tuple[Cake, ...]
    others: tuple[Cake, ...]

    @property
    def count(self) -> int:
        """How many lines there are."""
        return len(self.first) + len(self.others)


@dataclass(frozen=True, slots=True)
class ShortfallRow:
    """One item that will be missing, ready to be shown."""

    item_id: int
    item_name: str
    kind: ShortfallKind
    mark: str
    sentence: SaidAmount
    day: str  # the first on which it is missing
    gap: SaidAmount  # how much is missing, and of what: 3 lb short
    remedy: str
    brief_remedy: str
    is_lost: bool  # no delivery brings all that the cakes lack of it
    cakes: CakeList
    line: ShelfLine
    was_counted: bool  # else nobody ever said what is there, and it counts as none


def shortfall_rows(
    words: PageWords, shortfalls: Iterable[Shortfall]
) -> list[ShortfallRow]:
    """Return a row for each shortfall, in their order. Two queries."""
    found = list(shortfalls)
    cakes = CakeFinder(words, {ref for row in found for ref in row.cakes})
    lines = ShelfLines(words.planned)
    nodes = words.planned.kitchen.nodes
    known = levels.items_on_record(nodes.ids[row.node] for row in found)
    return [
        ShortfallRow(
            item_id=nodes.ids[row.node],
            item_name=nodes.names[row.node],
            kind=row.kind,
            mark=MARKS[row.kind],
            sentence=words.shortfall(row),
            day=words.brief_day(row.first_on),
            gap=words.gap_of(row),
            remedy=words.remedy(row),
            brief_remedy=words.brief_remedy(row),
            is_lost=row.node in words.planned.ways_out.lost,
            cakes=cakes.named(row.cakes),
            line=lines.line(row.node),
            was_counted=nodes.ids[row.node] in known,
        )
        for row in found
    ]


class CakeFinder:
    """Finds lines of the bake plan by reference. One query."""

    def __init__(self, words: PageWords, references: set[str]) -> None:
        self._words = words
        self._place = _place_by_reference(words.planned)
        self._pk = dict(
            PlannedCake.objects.order_by()
            .filter(reference__in=references)
            .values_list("reference", "pk")
        )

    def named(self, references: Iterable[str]) -> CakeList:
        """Return the lines of some references, the first due first."""
        kitchen = self._words.planned.kitchen
        places = sorted(
            (self._place[reference] for reference in references),
            key=lambda place: (kitchen.cakes.due_on[place], place),
        )
        found = tuple(self._cake(place) for place in places)
        return CakeList(found[:CAKES_NAMED], found[CAKES_NAMED:])

    def one(self, reference: str) -> Cake:
        """Return one line of the bake plan."""
        return self._cake(self._place[reference])

    def _cake(self, place: int) -> Cake:
        kitchen = self._words.planned.kitchen
        reference = kitchen.cakes.references[place]
        return Cake(
            pk=self._pk.get(reference),
            reference=reference,
            cake_name=kitchen.nodes.names[int(kitchen.cakes.cake[place])],
            due_words=self._words.day(kitchen.cakes.due_on[place]),
        )


def _place_by_reference(planned: Planned) -> dict[str, int]:
    references = planned.kitchen.cakes.references
    return {reference: place for place, reference in enumerate(references)}
