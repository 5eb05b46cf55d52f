"""The form of one recipe line, in any unit that its component knows."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _

from planning.entry.sheets import RECIPE_LINES
from planning.models import Recipe
from planning.recipes.recipe_book import RecipeBook
from planning.web.recipes.recipe_words import SCALES_WITH
from stock.items.items import item_called
from stock.models import Item
from stock.web.forms.entry_forms import EntryForm, NameList

COLUMNS = ("component", "quantity", "yield_percent", "scales_with")


class LineForm(EntryForm):
    """One line of a recipe; only a cake's can grow with its size.

    The names that it offers come from a book already open, or from one query.
    """

    def __init__(
        self,
        data: QueryDict | None,
        *,
        recipe: Recipe,
        values: Mapping[str, Any],
        book: RecipeBook | None = None,
        version: int | None = None,
    ) -> None:
        super().__init__(
            RECIPE_LINES,
            data,
            values=values,
            columns=COLUMNS if recipe.is_cake else COLUMNS[:-1],
            fixed={"recipe": recipe.item.name},
            names={"component": NameList("components", _names(book, recipe))},
            version=version,
        )
        self.fields["quantity"].help_text = (
            _("For one batch, in any unit: 2 lb 4 oz, 1 3/4 cup, 16 each.")
            if not recipe.is_cake
            else _("For the cake in its base size, in any unit: 3 lb 10 oz, 1/2 cup.")
        )
        if recipe.is_cake:
            field = self.fields["scales_with"]
            field.label, field.help_text, field.required = _("Scales with"), "", True
            field.widget = forms.Select(choices=list(SCALES_WITH.items()))

    def component(self) -> Item | None:
        """Return the item that was typed as the component, if there is one."""
        name = str(self["component"].value() or "").strip()
        return item_called(name) if name else None


def _names(book: RecipeBook | None, recipe: Recipe) -> list[str]:
    """Return what may be taken: anything in use but cakes and the recipe itself."""
    if book is None:
        items = Item.objects.filter(retired=False).exclude(kind=Item.Kind.CAKE)
        return list(items.exclude(pk=recipe.pk).values_list("name", flat=True))
    return sorted(
        named.name
        for pk, named in book.named.items()
        if not named.retired and named.kind != Item.Kind.CAKE and pk != recipe.pk
    )
