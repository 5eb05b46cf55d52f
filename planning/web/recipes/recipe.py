"""A recipe: what does a batch take, weigh and yield, and where is it used?"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from planning.models import Recipe, RecipeLine
from planning.recipes.batch_weight import weigh_batch
from planning.recipes.recipe_book import RecipeBook, open_book
from planning.web.recipes.line_form import LineForm
from planning.web.recipes.recipe_tables import CakeLinesTable, RecipeLinesTable
from planning.web.recipes.recipe_words import (
    against_yield,
    as_typed_words,
    figure,
    keeps_words,
    step_words,
)
from planning.web.recipes.where_used import cake_uses, direct_uses
from stock.calendar.calendar_words import days_before_words
from stock.conversion.converters import converters_for
from stock.measures.conversion import Converter
from stock.measures.resolution import to_ledger
from stock.web.amounts import NO_BREAK, Amount


@dataclass(frozen=True, slots=True)
class BoughtRow:
    """Something bought, and how much of it each component of the recipe brings."""

    name: str
    item_id: int
    amount: Amount
    brought: list[tuple[Amount, str]]  # the name is blank for a line of its own


def recipe(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show everything about a recipe."""
    row = get_object_or_404(Recipe.objects.select_related("item"), pk=item_id)
    lines = list(row.lines.select_related("component"))
    converters = converters_for()
    book = open_book()
    context = {
        "recipe": row,
        "facts": _facts(row),
        "lines": _lines_table(row, lines, converters),
        "form": LineForm(None, recipe=row, values=_again(request), book=book),
        "direct_uses": direct_uses(book, item_id),
        "cake_uses": cake_uses(book, item_id),
        "allergens": book.allergens(item_id),
        "unlabelled": book.unlabelled(item_id),
        "bought": _bought(book, item_id, converters),
        **_weight(row, lines, converters),
    }
    return render(request, "planning/recipe.html", context)


def _facts(row: Recipe) -> list[tuple[str, str, str]]:
    made = days_before_words(row.lead_days)
    facts = [
        (_("Base size"), row.base_size, "")
        if row.is_cake
        else (_("One batch yields"), row.yields, ""),
        (_("Is made"), made, _("it is due") if row.is_cake else _("it is needed")),
        (_("Shelf life"), keeps_words(row.item.keeps_days), ""),
    ]
    if row.caps_use_by:
        facts.append((_("Use by"), "capped", _("by what goes into it")))
    if not row.is_cake:
        facts += [
            (_("Is mixed in"), step_words(row.batch_step), ""),
            (_("Largest mix"), _largest(row), ""),
            (
                _("Loss"),
                f"{figure(row.loss_percent)} %",
                _("in the bowl, on trimmings"),
            ),
        ]
    return facts


def _largest(row: Recipe) -> str:
    if row.largest_batch is None:
        return _("no limit entered")
    plural = "" if row.largest_batch <= 1 else "es"
    return _("{figure} batch{plural}").format(
        figure=figure(row.largest_batch), plural=plural
    )


def _lines_table(
    row: Recipe, lines: list[RecipeLine], converters: dict[int, Converter]
) -> RecipeLinesTable:
    what = (
        _("{name} in its base size").format(name=row.item.name)
        if row.is_cake
        else _("One batch")
    )
    table = CakeLinesTable if row.is_cake else RecipeLinesTable
    return table(
        lines,
        converters=converters,
        caption=_(
            "{what} takes this, edible, in the units it is written in. Tap an "
            "quantity for its base unit."
        ).format(what=what),
    )


def _weight(
    row: Recipe, lines: list[RecipeLine], converters: dict[int, Converter]
) -> dict[str, Any]:
    weight = weigh_batch(row, lines, converters)
    typed = [line.quantity for line in lines] if row.is_cake else [row.yields]
    compared, looks_wrong = against_yield(weight, row)
    return {
        "weight": weight,
        "weighed": [
            (line.component_name, line.quantity, _grams(line.mass_g))
            for line in weight.lines
        ],
        "weighed_in_all": _grams(weight.in_g),
        "weight_words": as_typed_words(weight.in_g, "g", typed) if weight.in_g else "",
        "compared": compared,
        "looks_wrong": looks_wrong,
    }


def _grams(mass_g: Fraction) -> str:
    """Return a weight to a hundredth of a gram."""
    return f"{float(mass_g):,.2f}{NO_BREAK}g"


def _bought(
    book: RecipeBook, item_id: int, converters: dict[int, Converter]
) -> list[BoughtRow]:
    """Return what one batch takes of everything bought, by name, and what brings it."""

    def said(pk: int, amount_base: float) -> Amount:
        return Amount(to_ledger(Fraction(amount_base)), converters[pk])

    through = book.bought_through(item_id)
    return [
        BoughtRow(
            name=book.named[pk].name,
            item_id=pk,
            amount=said(pk, amount_base),
            brought=[
                (said(pk, part_base), "" if by == pk else book.named[by].name)
                for by, part_base in through[pk].items()
            ],
        )
        for pk, amount_base in sorted(
            book.bought_for(item_id).items(), key=lambda row: book.named[row[0]].name
        )
    ]


def _again(request: HttpRequest) -> dict[str, str]:
    """Return a line that was just taken out, so that it can be put back."""
    columns = ("component", "quantity", "yield_percent", "scales_with")
    return {name: request.GET[name] for name in columns if name in request.GET}
