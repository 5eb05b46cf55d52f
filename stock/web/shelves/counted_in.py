"""What a bare number of an item means in counts, chosen on the item's page."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from stock.counts.units import choose_unit, counting_units
from stock.errors import StockError
from stock.measures.conversion import Converter
from stock.measures.counting_units import unit_choices
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
        means = f"{unit} in counts" if unit else "what it was counted in last"
        messages.success(request, f"A bare number of {item.name} means {means}.")
    return redirect("stock:item", item_id)


def counted_in_context(item: Item, converter: Converter) -> dict[str, Any]:
    """Return what the item's page shows of it. One query."""
    unit = counting_units({item.pk: item}, {item.pk: converter})[item.pk]
    return {"counting_unit": unit, "unit_choices": unit_choices(converter)}
