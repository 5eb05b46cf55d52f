"""What a bare number of an item means in counts, chosen on the item's page."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from stock.counts.units import choose_unit, last_said
from stock.errors import StockError
from stock.measures.conversion import Converter
from stock.measures.counting_units import smallest_whole, unit_choices, unit_of
from stock.models import Item


@require_POST
def choose_counting_unit(request: HttpRequest, item_id: int) -> HttpResponse:
    """Keep the unit that was chosen, and go back to the item."""
    item = get_object_or_404(Item, pk=item_id)
    try:
        unit = choose_unit(
            item_id,
            request.POST.get("counted_in", ""),
            seen=request.POST.get("was"),
        )
    except StockError as error:
        messages.error(request, str(error))
    else:
        means = (
            _("{unit} in counts").format(unit=unit)
            if unit
            else _("its usual unit again")
        )
        messages.success(
            request,
            _("A bare number of {name} means {means}.").format(
                name=item.name, means=means
            ),
        )
    return redirect("stock:item", item_id)


def counted_in_context(item: Item, converter: Converter) -> dict[str, Any]:
    """Return what the item's page shows of it. Two queries."""
    counted_last = last_said([item.pk]).get(item.pk, "")
    if unit := unit_of(counted_last, converter):
        unchosen = _("{unit} (as counted last)").format(unit=unit)
    elif unit := smallest_whole(converter):
        unchosen = _("{unit} (the smallest whole one)").format(unit=unit)
    else:
        unchosen = _("no unit: ask")
    return {"unchosen_unit": unchosen, "unit_choices": unit_choices(converter)}
