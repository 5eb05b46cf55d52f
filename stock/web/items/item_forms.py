"""Adding and changing an item: what is it, and how is it kept?"""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop
from django.views.decorators.http import require_POST

from stock.items.items import (
    item_entries,
    keep_items,
    retire_item,
    unretire_item,
)
from stock.measures.units import Measure
from stock.models import Item, Place
from stock.saving.sheets import ITEMS
from stock.web.forms.entry_conflicts import step
from stock.web.forms.entry_forms import EntryForm, NameList, keep_from_form, posted
from stock.web.items.reference_weights import foods_for, taken_from

SHOWN_COLUMNS = (
    "item",
    "kind",
    "measure",
    "equivalents",
    "own_units",
    "place",
    "walk_order",
    "safety",
    "par",
    "keeps_days",
    "allergens",
)
FOLDED_COLUMNS = {
    gettext_noop("Cold, opened, frozen"): (
        *("cold", "opened_keeps_days", "frozen_keeps_days", "thawed_keeps_days"),
        "minimum_days_left",
    )
}


def add_item(request: HttpRequest) -> HttpResponse:
    """Add something that is bought and kept."""
    form = _form(request, {"item": request.GET.get("look_up", "")})
    if form.is_bound and (kept := keep_from_form(form, keep_items, ids=[None])):
        item = Item.objects.get(name=kept.added[0])
        messages.success(request, _("Added: {what}.").format(what=item.name))
        return redirect("stock:item", item.pk)
    return _page(request, form, heading=_("Add an item"), back=reverse("stock:shelves"))


def change_item(request: HttpRequest, item_id: int) -> HttpResponse:
    """Change what an item is called, how it is measured, what is to be there."""
    item = get_object_or_404(Item, pk=item_id, kind__in=Item.BOUGHT_KINDS)
    [values] = item_entries([item_id])
    form = _form(request, values, Measure(item.measure), version=item.version)
    if form.is_bound and keep_from_form(form, keep_items, ids=[form.seen(item_id)]):
        messages.success(request, _("Saved: {what}.").format(what=form.text_of("item")))
        return redirect("stock:item", item_id)
    back = reverse("stock:item", args=[item_id])
    return _page(
        request,
        form,
        heading=_("Edit {capfirst}").format(capfirst=capfirst(item.name)),
        back=back,
        item=item,
    )


@require_POST
def retire(request: HttpRequest, item_id: int) -> HttpResponse:
    """Hide an item from lists."""
    item = get_object_or_404(Item, pk=item_id)
    done = _("Retired: {name}. The history stays.").format(name=item.name)
    step(request, retire_item, item_id, done=done)
    return redirect("stock:item", item_id)


@require_POST
def unretire(request: HttpRequest, item_id: int) -> HttpResponse:
    """Bring an item back."""
    item = get_object_or_404(Item, pk=item_id)
    step(
        request,
        unretire_item,
        item_id,
        done=_("Back on the lists: {name}.").format(name=item.name),
    )
    return redirect("stock:item", item_id)


def _form(
    request: HttpRequest,
    values: dict[str, Any],
    measure: Measure = Measure.MASS,
    *,
    version: int | None = None,
) -> EntryForm:
    taken = taken_from(request.GET, measure)
    places = list(Place.objects.values_list("name", flat=True))
    return EntryForm(
        ITEMS,
        posted(request),
        values={**values, **taken.values},
        # The food that the address took weights over from.
        fixed={"weights_from": request.GET["food"]} if taken.values else None,
        columns=SHOWN_COLUMNS,
        folded=FOLDED_COLUMNS,
        names={"place": NameList("places", places)},
        version=version,
    )


def _page(
    request: HttpRequest,
    form: EntryForm,
    *,
    heading: str,
    back: str,
    item: Item | None = None,
) -> HttpResponse:
    measure = Measure(item.measure) if item else Measure.MASS
    words = request.GET.get("look_up", item.name if item else "").strip()
    context = {
        "form": form,
        "heading": heading,
        "back": back,
        "words": words,
        "looked_up": "look_up" in request.GET,
        "foods": foods_for(words, measure) if "look_up" in request.GET else [],
        "source": taken_from(request.GET, measure).source,
    }
    return render(request, "stock/item_form.html", context)
