"""Where something is used: in which recipes, and in which cakes above them?"""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from planning.recipes.recipe_book import RecipeBook, open_book
from planning.web.recipes.recipe_tables import component_url
from stock.conversion.converters import converters_for
from stock.measures.nouns import with_noun
from stock.models import Item


@dataclass(frozen=True, slots=True)
class DirectUse:
    """A recipe that has a line for something, or for a part of it."""

    recipe_id: int
    recipe_name: str
    retired: bool
    quantity: str
    as_part: str  # the part's name; blank for the thing itself


@dataclass(frozen=True, slots=True)
class CakeUse:
    """A cake that something gets into by way of other recipes."""

    recipe_id: int
    recipe_name: str
    retired: bool
    through: str  # names of the components that bring it


def where_used(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show the recipes that take an item, and the cakes that it ends up in."""
    item = get_object_or_404(Item, pk=item_id)
    book = open_book()
    context = {
        "item": item,
        "item_url": component_url(item),
        "direct_uses": direct_uses(book, item_id),
        "cake_uses": cake_uses(book, item_id),
    }
    return render(request, "planning/where_used.html", context)


def direct_uses(book: RecipeBook, item_id: int) -> list[DirectUse]:
    """Return the lines that take something or a part of it, by the recipe's name."""
    taken_ids = [pk for pk in (item_id, *book.parts_of(item_id)) if pk in book.takers]
    converters = converters_for(taken_ids) if taken_ids else {}
    uses = [
        DirectUse(
            taking.recipe_id,
            book.named[taking.recipe_id].name,
            book.named[taking.recipe_id].retired,
            with_noun(taking.quantity, converters[taken_id]),
            "" if taken_id == item_id else book.named[taken_id].name,
        )
        for taken_id in taken_ids
        for taking in book.takers[taken_id]
    ]
    return sorted(uses, key=lambda use: (use.recipe_name.casefold(), use.as_part))


def cake_uses(book: RecipeBook, item_id: int) -> list[CakeUse]:
    """Return the cakes that take something only through other recipes."""
    return [
        CakeUse(
            use.cake_id,
            book.named[use.cake_id].name,
            book.named[use.cake_id].retired,
            ", ".join(book.named[pk].name for pk in use.through_ids),
        )
        for use in book.cakes_with(item_id)
        if use.through_ids
    ]
