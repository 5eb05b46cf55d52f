"""Places: where do things stand, and in which order are they walked?"""

import django_tables2 as tables
from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST
from django_tables2 import A

from stock.errors import StockError
from stock.items.places import keep_places, move_in_walk, place_entries
from stock.models import Place
from stock.saving.sheets import PLACES
from stock.web.forms.entry_conflicts import seen_version
from stock.web.forms.entry_forms import EntryForm, keep_from_form, posted


class PlacesTable(tables.Table):
    """The places in walking order, each with the two ways to move it."""

    caption = gettext_lazy("Places, in the order in which they are walked.")
    name = tables.Column(
        gettext_lazy("Place"), linkify=("stock:change_place", [A("pk")])
    )
    order = tables.TemplateColumn(
        template_name="stock/place_order.html", verbose_name=gettext_lazy("Walk it")
    )
    item_count = tables.Column(
        gettext_lazy("Items"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )

    class Meta:
        orderable = False


def places(request: HttpRequest) -> HttpResponse:
    """Show the places in walking order."""
    of_items = Count("items", filter=Q(items__retired=False))
    rows = list(Place.objects.annotate(item_count=of_items))
    context = {"table": PlacesTable(rows), "has_places": bool(rows)}
    return render(request, "stock/places.html", context)


def add_place(request: HttpRequest) -> HttpResponse:
    """Add a place at the end of the walk."""
    walk_order = max((row["walk_order"] for row in place_entries()), default=0) + 1
    form = EntryForm(PLACES, posted(request), values={"walk_order": walk_order})
    if form.is_bound and keep_from_form(form, keep_places, ids=[None]):
        messages.success(
            request, _("{entry} is a place now.").format(entry=form.text_of("place"))
        )
        return redirect("stock:places")
    return _entry_page(request, form, _("Add a place"))


def change_place(request: HttpRequest, place_id: int) -> HttpResponse:
    """Call a place by another name, or walk it at another time."""
    place = get_object_or_404(Place, pk=place_id)
    [values] = place_entries([place_id])
    form = EntryForm(PLACES, posted(request), values=values, version=place.version)
    if form.is_bound and keep_from_form(form, keep_places, ids=[form.seen(place_id)]):
        messages.success(
            request, _("{entry} is saved.").format(entry=form.text_of("place"))
        )
        return redirect("stock:places")
    return _entry_page(request, form, _("Edit {values}").format(values=values["place"]))


@require_POST
def move_place(request: HttpRequest, place_id: int) -> HttpResponse:
    """Walk a place one step earlier or later."""
    steps = -1 if request.POST.get("to") == "earlier" else 1
    try:
        move_in_walk(place_id, steps=steps, seen=seen_version(request.POST))
    except StockError as error:
        messages.error(request, str(error))
    return redirect("stock:places")


def _entry_page(request: HttpRequest, form: EntryForm, heading: str) -> HttpResponse:
    context = {
        "form": form,
        "heading": heading,
        "save": _("Save this place"),
        "back": reverse("stock:places"),
    }
    return render(request, "stock/entry.html", context)
