"""Recipes: what do we make? Listed, added, changed and retired."""

from typing import Any

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_POST

from planning.entry.sheets import RECIPES
from planning.models import Recipe
from planning.recipes.recipes import keep_recipes, recipe_entries
from planning.sentences.words import capitalized
from planning.web.recipes.recipe_tables import CakesTable, RecipesTable
from stock.items.items import retire_item, unretire_item
from stock.web.forms.entry_conflicts import step
from stock.web.forms.entry_forms import EntryForm, keep_from_form, posted

COMPONENT_COLUMNS = (
    "recipe",
    "yields",
    "batch_step",
    "largest_batch",
    "loss_percent",
    "lead_days",
    "keeps_days",
)
COMPONENT_FOLDED = {gettext_noop("Kept cold, unbaked"): ("holding", "caps_use_by")}
CAKE_COLUMNS = ("recipe", "base_size", "lead_days", "keeps_days", "holding")
# What the other kind has, and this one has not.
COMPONENT_FIXED = {"is_cake": "no", "base_size": ""}
CAKE_FIXED = {
    "is_cake": "yes",
    "yields": "1 each",
    "batch_step": "",
    "largest_batch": "",
    "loss_percent": "",
    "caps_use_by": "",
}


def recipes(request: HttpRequest) -> HttpResponse:
    """Show the recipes: cakes first, then what they are made of."""
    words = request.GET.get("words", "").strip()
    with_retired = request.GET.get("retired") == "yes"
    every_row = _every_recipe()
    shown = [
        row
        for row in every_row
        if (with_retired or not row.item.retired)
        and words.casefold() in row.item.name.casefold()
    ]
    context = {
        "cakes": CakesTable([row for row in shown if row.is_cake]),
        "components": RecipesTable([row for row in shown if not row.is_cake]),
        "words": words,
        "with_retired": with_retired,
        "retired_count": sum(row.item.retired for row in every_row),
        "has_recipes": bool(every_row),
        "count": len(shown),
    }
    return render(request, "planning/recipes.html", context)


def add_recipe(request: HttpRequest) -> HttpResponse:
    """Add a cake, or something that is made for cakes."""
    is_cake = request.GET.get("cake") == "yes"
    form = _form(request, {"recipe": request.GET.get("recipe", "")}, is_cake=is_cake)
    if form.is_bound and (kept := keep_from_form(form, keep_recipes, ids=[None])):
        row = Recipe.objects.get(item__name=kept.added[0])
        messages.success(
            request,
            _("{added} has a recipe; add what it takes.").format(added=kept.added[0]),
        )
        return redirect(f"{reverse('planning:recipe', args=[row.pk])}#add-a-line")
    heading = _("Add a cake's recipe") if is_cake else _("Add a component's recipe")
    back = reverse("planning:recipes")
    return _page(request, form, heading=heading, back=back, is_cake=is_cake)


def change_recipe(request: HttpRequest, item_id: int) -> HttpResponse:
    """Change what a recipe is called, yields, and when it is made."""
    row = get_object_or_404(Recipe.objects.select_related("item"), pk=item_id)
    is_cake = {"yes": True, "no": False}.get(request.GET.get("cake", ""), row.is_cake)
    [values] = recipe_entries([item_id])
    form = _form(request, values, is_cake=is_cake, version=row.version)
    back = reverse("planning:recipe", args=[item_id])
    if form.is_bound and keep_from_form(form, keep_recipes, ids=[form.seen(item_id)]):
        messages.success(
            request, _("Saved: {what}.").format(what=form.text_of("recipe"))
        )
        return redirect(back)
    heading = _("Edit {name}").format(name=capitalized(row.item.name))
    return _page(request, form, heading=heading, back=back, is_cake=is_cake, recipe=row)


@require_POST
def retire(request: HttpRequest, item_id: int) -> HttpResponse:
    """Hide a recipe from lists."""
    row = get_object_or_404(Recipe.objects.select_related("item"), pk=item_id)
    done = _("Retired {name}: hidden from lists. It can come back.").format(
        name=row.item.name
    )
    step(request, retire_item, item_id, done=done)
    return redirect("planning:recipe", item_id)


@require_POST
def unretire(request: HttpRequest, item_id: int) -> HttpResponse:
    """Bring a recipe back."""
    row = get_object_or_404(Recipe.objects.select_related("item"), pk=item_id)
    step(
        request,
        unretire_item,
        item_id,
        done=_("Back on the lists: {name}.").format(name=row.item.name),
    )
    return redirect("planning:recipe", item_id)


def _every_recipe() -> list[Recipe]:
    """Return all recipes with how many lines each has, by name. One query."""
    rows = Recipe.objects.select_related("item").annotate(line_count=Count("lines"))
    return list(rows.order_by("item__name"))


def _form(
    request: HttpRequest,
    values: dict[str, Any],
    *,
    is_cake: bool,
    version: int | None = None,
) -> EntryForm:
    return EntryForm(
        RECIPES,
        posted(request),
        values=values,
        columns=CAKE_COLUMNS if is_cake else COMPONENT_COLUMNS,
        fixed=CAKE_FIXED if is_cake else COMPONENT_FIXED,
        folded={} if is_cake else COMPONENT_FOLDED,
        version=version,
    )


def _page(
    request: HttpRequest,
    form: EntryForm,
    *,
    heading: str,
    back: str,
    is_cake: bool,
    recipe: Recipe | None = None,
) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "back": back,
        "is_cake": is_cake,
        "recipe": recipe,
    }
    return render(request, "planning/recipe_form.html", context)
