"""What is made on a day, and for whom."""

from dataclasses import dataclass
from datetime import date

from django.utils.translation import ngettext

from planning.engine.kitchen import NodeKind
from planning.engine.plan import Making
from planning.web.page_words import PageWords, SaidAmount
from planning.web.shortfalls.shortfall_rows import Cake, CakeFinder, CakeList


@dataclass(frozen=True, slots=True)
class MakingRow:
    """One recipe, or one kind of cake, on one day."""

    on: date
    day: str
    item_id: int
    name: str
    how_much: str
    comes_to: SaidAmount | None  # of a cake: nothing to add
    is_late: bool
    cakes: CakeList | None  # of a cake: the lines of the bake plan


@dataclass(frozen=True, slots=True)
class MakingDay:
    """What is made on one day: first the recipes, then the cakes."""

    heading: str
    is_closed: bool
    recipes: list[MakingRow]
    cakes: list[MakingRow]

    @property
    def rows(self) -> list[MakingRow]:
        """All of it: what is late first, then the recipes, then the cakes."""
        return sorted([*self.recipes, *self.cakes], key=lambda row: not row.is_late)

    @property
    def count_words(self) -> str:
        """How many recipes and kinds of cake: `5 recipes, 2 cakes`."""
        recipes, cakes = len(self.recipes), len(self.cakes)
        counts = (
            (recipes, ngettext("{count} recipe", "{count} recipes", recipes)),
            (cakes, ngettext("{count} cake", "{count} cakes", cakes)),
        )
        return ", ".join(words.format(count=count) for count, words in counts if count)


def making_days(words: PageWords, days: tuple[date, ...]) -> list[MakingDay]:
    """Return what is made on some days. One query, for the lines of the bake plan."""
    made = [row for row in words.planned.plan.making if row.on in days]
    rows = _rows(words, made)
    return [
        MakingDay(
            heading=words.day(day),
            is_closed=words.planned.kitchen.bakery.is_closed(day),
            recipes=[row for row in rows if row.on == day and row.cakes is None],
            cakes=[row for row in rows if row.on == day and row.cakes is not None],
        )
        for day in days
    ]


def makings_of(words: PageWords, node: int) -> list[MakingRow]:
    """Return when one thing is made, and how much of it. One query."""
    return _rows(words, [row for row in words.planned.plan.making if row.node == node])


def _rows(words: PageWords, made: list[Making]) -> list[MakingRow]:
    references = [_references(words, row) for row in made]
    finder = CakeFinder(words, set().union(*references))
    return [
        _row(words, row, finder.named(found) if found else None)
        for row, found in zip(made, references, strict=True)
    ]


def _references(words: PageWords, row: Making) -> set[str]:
    """Return the lines of the bake plan of a cake; of anything else none."""
    if int(words.planned.kitchen.nodes.kind[row.node]) != NodeKind.CAKE:
        return set()
    return {
        step.reference for step in words.planned.explosion.reasons(row.node, row.on)
    }


def _row(words: PageWords, row: Making, cakes: CakeList | None) -> MakingRow:
    nodes = words.planned.kitchen.nodes
    return MakingRow(
        on=row.on,
        day=words.day(row.on),
        item_id=nodes.ids[row.node],
        name=nodes.names[row.node],
        how_much=words.making(row),
        comes_to=None if cakes else words.amount(row.node, row.amount_base),
        is_late=row.is_late,
        cakes=cakes,
    )


def overdue_cakes(words: PageWords) -> list[Cake]:
    """Return the live lines of the bake plan that were due before today. One query."""
    planned = words.planned
    references = [
        planned.kitchen.cakes.references[row]
        for row in planned.explosion.prepared.planned.overdue.tolist()
    ]
    finder = CakeFinder(words, set(references))
    return [finder.one(reference) for reference in references]
