"""The lines of a recipe: adding, changing and taking one out."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.entry.sheets import RECIPE_LINES
from planning.models import Recipe, RecipeLine
from planning.recipes.recipe_lines import keep_recipe_lines, remove_recipe_line
from planning.sentences.words import capitalized
from planning.web.recipes.line_form import COLUMNS, LineForm
from planning.web.recipes.recipe_tables import component_url
from stock.models import Item
from stock.web.forms.entry_conflicts import opened_texts, step
from stock.web.forms.entry_forms import keep_from_form, posted


def add_line(request: HttpRequest, item_id: int) -> HttpResponse:
    """Add what one batch takes of something."""
    recipe = get_object_or_404(Recipe.objects.select_related("item"), pk=item_id)
    form = LineForm(posted(request), recipe=recipe, values={})
    if form.is_bound and (kept := keep_from_form(form, keep_recipe_lines, ids=[None])):
        component = kept.added[0].removeprefix(f"{recipe.item.name}, ")
        messages.success(
            request,
            _("Added to {name}: {component}.").format(
                name=recipe.item.name, component=component
            ),
        )
        return redirect(f"{_recipe_url(recipe)}#add-a-line")
    return _page(
        request,
        form,
        recipe,
        heading=_("Add a line to {name}").format(name=capitalized(recipe.item.name)),
    )


def recipe_line(request: HttpRequest, line_id: int) -> HttpResponse:
    """Change what one batch takes of something."""
    if request.method == "POST" and not RecipeLine.objects.filter(pk=line_id).exists():
        return _removed_meanwhile(request)
    line = _line(line_id)
    values = {name: getattr(line, name) for name in COLUMNS}
    values["component"] = line.component.name
    form = LineForm(
        posted(request), recipe=line.recipe, values=values, version=line.version
    )
    seen = [form.seen(line_id)]
    if form.is_bound and keep_from_form(form, keep_recipe_lines, ids=seen):
        messages.success(
            request, _("Saved: {what}.").format(what=form.text_of("component"))
        )
        return redirect(_recipe_url(line.recipe))
    what, where = line.component.name, line.recipe.item.name
    heading = _("Edit {what} in {where}").format(
        what=capitalized(what), where=capitalized(where)
    )
    return _page(request, form, line.recipe, heading=heading, line=line)


@require_POST
def remove_line(request: HttpRequest, line_id: int) -> HttpResponse:
    """Take a line out; the form below the lines then holds it, to put it back."""
    if not RecipeLine.objects.filter(pk=line_id).exists():
        messages.info(request, _("That line is gone already."))
        return redirect("planning:recipes")
    line = _line(line_id)
    done = _(
        "Removed from {name}: {name2}. To undo this, save the line that "
        "stands ready below."
    ).format(name=line.recipe.item.name, name2=line.component.name)
    if not step(request, remove_recipe_line, line_id, done=done):
        return redirect("planning:recipe_line", line_id)
    texts = {
        name: RECIPE_LINES.column(name).text(getattr(line, name))
        for name in COLUMNS
        if name != "component"
    }
    return redirect(
        _ready_to_add(line.recipe, {"component": line.component.name, **texts})
    )


def _removed_meanwhile(request: HttpRequest) -> HttpResponse:
    """Keep the entry for a line that somebody removed while it was changed."""
    name = opened_texts(request.POST).get("recipe", "")
    recipe = get_object_or_404(Recipe.objects.select_related("item"), item__name=name)
    messages.warning(
        request,
        _(
            "Somebody removed this line after you opened it. Yours isn't saved: "
            "it stands ready below. Save it to add it again."
        ),
    )
    texts = {name: request.POST.get(name, "") for name in COLUMNS}
    return redirect(_ready_to_add(recipe, texts))


def _ready_to_add(recipe: Recipe, texts: dict[str, str]) -> str:
    return f"{_recipe_url(recipe)}?{urlencode(texts)}#add-a-line"


def _line(line_id: int) -> RecipeLine:
    return get_object_or_404(
        RecipeLine.objects.select_related("recipe__item", "component"), pk=line_id
    )


def _recipe_url(recipe: Recipe) -> str:
    return reverse("planning:recipe", args=[recipe.pk])


def _page(
    request: HttpRequest,
    form: LineForm,
    recipe: Recipe,
    *,
    heading: str,
    line: RecipeLine | None = None,
) -> HttpResponse:
    component = form.component() if "quantity" in form.errors else None
    context = {
        "form": form,
        "heading": heading,
        "line": line,
        "back": _recipe_url(recipe),
        "component": component,
        "component_url": _remedy_url(component) if component else "",
    }
    return render(request, "planning/line_form.html", context)


def _remedy_url(component: Item) -> str:
    """Return where a unit of the component can be given a meaning."""
    if component.kind in Item.BOUGHT_KINDS:
        return reverse("stock:change_item", args=[component.pk])
    return component_url(component)
