"""The making list of a day, recipe by recipe, in the order of making."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple
from uuid import uuid4

from django.db.models import FloatField
from django.db.models.functions import Cast
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.engine.kitchen import NO_NODE, NodeKind
from planning.engine.plan import Making, ShortfallKind
from planning.models import RecipeLine
from planning.recipes.recipe_book import RecipeBook, open_book
from planning.sentences.words import capitalized
from planning.web.page_words import PageWords, SaidAmount
from planning.web.shortfalls.shortfall_rows import CakeFinder, CakeList
from planning.wording.batch_words import batches_words
from stock.conversion.converters import converters_for
from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.nouns import singular
from stock.measures.reading.quantity import (
    KITCHEN_DENOMINATORS,
    format_number,
    parse_quantity,
)
from stock.measures.reading.terms import spelled_term
from stock.web.amounts import NO_BREAK, content_words, kept_together

WHOLE_GRAMS_FROM = 10  # below, scales and recipes count tenths
WHOLE_PERCENT = 100.0
# As many as anybody counts; more are weighed.
MOST_MEASURED = {"tsp": 6, "tbsp": 8, "cup": 16, "cups": 16}
NEAR_FRACTION = Fraction(1, 50)  # spoons and cups are no closer


@dataclass(frozen=True, slots=True)
class IngredientRow:
    """What a recipe takes of a component, for all batches of the day."""

    item_id: int
    name: str
    kitchen: str  # edible, in kitchen units
    scale: str  # the same in grams, or in the item's base unit
    shelf: str  # as purchased, where it differs
    short: str  # how much of it is short by then


@dataclass(frozen=True, slots=True)
class RecipeRow:
    """A recipe to be made on the day."""

    item_id: int
    name: str
    batches: str
    exact_batches: str
    comes_to: SaidAmount
    left_over: str
    was_due: str
    cakes: CakeList
    lines: list[IngredientRow]
    allergens: str
    key: str = field(default_factory=lambda: str(uuid4()))  # so a tap makes it once


@dataclass(frozen=True, slots=True)
class MakingList:
    """All recipes of a day, the late ones first, then what others take."""

    on: date
    recipes: list[RecipeRow]
    summary: str
    tomorrow: str  # the recipes of the day after


class _Line(NamedTuple):
    """What one batch takes, edible, and how the recipe writes it."""

    component_id: int
    edible_base: float
    yield_fraction: float
    typed: str


@dataclass(frozen=True, slots=True)
class _Known:
    """What is read for all rows at once."""

    words: PageWords
    book: RecipeBook
    converters: Mapping[int, Converter]
    lines: Mapping[int, Sequence["_Line"]]  # by recipe
    short: Mapping[int, str]  # by item


def making_list(words: PageWords, on: date) -> MakingList:
    """Return what is made on a day. About six queries, however many recipes."""
    made = _in_making_order(words, on)
    references = [_references(words, row) for row in made]
    finder = CakeFinder(words, set().union(*references))
    known = _read(words, made, on)
    rows = [
        _recipe_row(known, row, finder.named(found))
        for row, found in zip(made, references, strict=True)
    ]
    after = _in_making_order(words, on + timedelta(days=1))
    names = words.planned.kitchen.nodes.names
    return MakingList(
        on=on,
        recipes=rows,
        summary=_summary(made),
        tomorrow=", ".join(capitalized(names[row.node]) for row in after),
    )


def _in_making_order(words: PageWords, on: date) -> list[Making]:
    """Return the recipes of a day: late first, then what goes into others, by name."""
    planned = words.planned
    levels = planned.explosion.prepared.bill.levels
    depth = {
        node: level for level, each in enumerate(levels) for node in each.made.tolist()
    }
    kinds, names = planned.kitchen.nodes.kind, planned.kitchen.nodes.names
    made = [
        row
        for row in planned.plan.making
        if row.on == on and kinds[row.node] != NodeKind.CAKE
    ]
    return sorted(
        made,
        key=lambda row: (not row.is_late, -depth[row.node], names[row.node].casefold()),
    )


def _references(words: PageWords, row: Making) -> set[str]:
    steps = words.planned.explosion.reasons(row.node, row.on)
    return {step.reference for step in steps if step.reference}


def _read(words: PageWords, made: Sequence[Making], on: date) -> _Known:
    nodes = words.planned.kitchen.nodes
    lines: dict[int, list[_Line]] = {}
    rows = (
        RecipeLine.objects.filter(recipe__in=[nodes.ids[row.node] for row in made])
        .order_by("position", "pk")
        .values_list(
            "recipe_id",
            "component_id",
            "quantity_base",
            Cast("yield_percent", FloatField()),
            "quantity",
        )
    )
    for recipe_id, component_id, edible_base, percent, typed in rows:
        line = _Line(component_id, edible_base, percent / WHOLE_PERCENT, typed)
        lines.setdefault(recipe_id, []).append(line)
    short = {
        nodes.ids[row.node]: _("{gap} short").format(
            gap=words.gap(row.node, row.short_base)
        )
        for row in words.planned.plan.shortfalls
        if row.kind is ShortfallKind.OUT and row.first_on <= on
    }
    return _Known(words, open_book(), converters_for(), lines, short)


def _recipe_row(known: _Known, row: Making, cakes: CakeList) -> RecipeRow:
    words, nodes = known.words, known.words.planned.kitchen.nodes
    item_id = nodes.ids[row.node]
    left_over = words.gap(row.node, row.surplus_base)
    return RecipeRow(
        item_id=item_id,
        name=capitalized(nodes.names[row.node]),
        batches=batches_words(row.batches, row.mixes),
        exact_batches=repr(row.batches),
        comes_to=words.gap(row.node, row.amount_base),
        left_over=""
        if left_over.is_nothing
        else _("{left_over} left over").format(left_over=left_over),
        was_due=_was_due(words, row),
        cakes=cakes,
        lines=[
            _ingredient_row(known, line, row.batches)
            for line in known.lines.get(item_id, ())
        ],
        allergens=", ".join(known.book.allergens(item_id)),
    )


def _was_due(words: PageWords, row: Making) -> str:
    days_late = int(words.planned.explosion.figures.days_late[row.node])
    if not row.is_late:
        return ""
    if not days_late:  # what takes it is late
        return _("Late")
    return _("Was due {day}").format(day=words.day(row.on - timedelta(days=days_late)))


def _ingredient_row(known: _Known, line: _Line, batches: float) -> IngredientRow:
    item_id, edible_base = line.component_id, line.edible_base * batches
    named, converter = known.book.named[item_id], known.converters[item_id]
    shelf = ""
    if line.yield_fraction < 1 or named.whole_id:
        shelf = _shelf_words(known, item_id, edible_base / line.yield_fraction)
    return IngredientRow(
        item_id=item_id,
        name=capitalized(named.name),
        kitchen=_as_written(line.typed, batches)
        or content_words(edible_base, converter),
        scale=_scale_words(edible_base, converter),
        shelf=shelf,
        short=known.short.get(item_id, ""),
    )


def _as_written(typed: str, batches: float) -> str:
    """Return a recipe's quantity times the batches, in its own unit.

    Blank where cups and spoons can't show it, or nobody would count so many.

    >>> _as_written("1 1/4 cup", 2), _as_written("1/4 tsp", 48), _as_written("250 g", 2)
    ('2\\xa01/2\\xa0cups', '', '')
    """
    try:
        terms = parse_quantity(typed).terms
    except MeasureError:
        return ""
    number = terms[0].number * Fraction(batches)
    if len(terms) > 1 or number > MOST_MEASURED.get(terms[0].unit, 0):
        return ""
    nearest = [Fraction(round(number * n), n) for n in (1, *KITCHEN_DENOMINATORS)]
    near = min(nearest, key=lambda each: abs(each - number))
    if abs(near - number) > number * NEAR_FRACTION:
        return ""
    return kept_together(spelled_term(near, terms[0].unit))


def _scale_words(amount_base: float, converter: Converter) -> str:
    """Return what the scale shows: 454 g, 1.5 g; mL where nobody said the weight."""
    unit, figure = converter.base_unit, Fraction(amount_base)
    try:
        figure, unit = converter.from_base(figure, "g"), "g"
    except MeasureError:
        if unit == "each":
            return ""
    places = 0 if figure >= WHOLE_GRAMS_FROM else 1
    said = f"{float(figure):,.{places}f}"
    said = said.removesuffix(".0") if figure >= 1 else said
    return f"{said}{NO_BREAK}{unit}"


def _shelf_words(known: _Known, item_id: int, amount_base: float) -> str:
    """Return what to take from the shelf: as purchased, of a part its wholes."""
    nodes = known.words.planned.kitchen.nodes
    node = known.words.planned.node_by_id[item_id]
    whole = int(nodes.whole[node])
    if whole == NO_NODE:
        return content_words(amount_base, known.converters[item_id])
    wholes = amount_base / float(nodes.part_yields_base[node])
    quarters = max(Fraction(round(wholes * 4), 4), Fraction(1, 4))
    name = nodes.names[whole]
    noun = singular(name) if quarters <= 1 else name
    return f"{kept_together(format_number(quarters))} {noun}"


def _summary(made: Sequence[Making]) -> str:
    """Return how much there is to do: 4 recipes, 2 1/2 batches."""
    if not made:
        return _("Nothing is left to make.")
    sentence = ngettext(
        "{count} recipe, {batches}.", "{count} recipes, {batches}.", len(made)
    ).format(count=len(made), batches=batches_words(sum(row.batches for row in made)))
    late = _("Late ones first.") if any(row.is_late for row in made) else ""
    return f"{sentence} {late}".rstrip()
