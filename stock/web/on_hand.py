"""Setting what is on hand: what is really there?"""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from stock import converters
from stock.calendar_cells import Day
from stock.cells import Choice, Name, Quantity, Text
from stock.correcting import OnHandChange, OnHandRow, set_on_hand
from stock.entries import Column, Fault, Sheet
from stock.errors import MeasureError, StockError
from stock.measures.conversion import Converter
from stock.measures.resolution import to_ledger
from stock.models import Item, Place
from stock.web.amounts import Amount
from stock.web.date_words import use_by_words
from stock.web.entry_forms import EntryForm, posted

# What people write where nothing is left; a bare 0 leaves no doubt either.
NOTHING = ("none", "0")


def set_on_hand_page(request: HttpRequest, item_id: int) -> HttpResponse:
    """Set what is on hand of an item in one place."""
    item = get_object_or_404(Item.objects.select_related("place"), pk=item_id)
    places = {place.name: place for place in Place.objects.all()}
    form = _form(request, item, places)
    if form.is_bound and (values := form.read()):
        converter = converters.converters_for([item_id])[item_id]
        row = _row(form, values, item=item, places=places, converter=converter)
        if row and _set(request, form, row, converter):
            return redirect("stock:item", item_id)
    context = {"form": form, "item": item, "has_places": bool(places)}
    return render(request, "stock/set_on_hand.html", context)


def _sheet(places: dict[str, Place]) -> Sheet:
    return Sheet(
        "On hand",
        (
            Column("place", Choice(tuple(places)), required=True),
            Column(
                "quantity",
                Quantity(),
                required=True,
                label="What is there",
                help="As you would say it: 2 cases + 6 lb, 1/2 bag, none.",
            ),
            Column("use_by", Day(), help="From the label. Blank: it has no date."),
            Column("lot", Name(), default="", help="From the label, if it has one."),
            Column("why", Text(), default="", help="A word for whoever asks later."),
        ),
    )


def _form(request: HttpRequest, item: Item, places: dict[str, Place]) -> EntryForm:
    asked = request.GET
    usual = item.place.name if item.place else ""
    by_id = {str(place.pk): name for name, place in places.items()}
    values = {
        "place": by_id.get(asked.get("place", ""), usual),
        "use_by": asked.get("use_by", ""),
        "lot": asked.get("lot", ""),
    }
    return EntryForm(_sheet(places), posted(request), values=values)


def _row(
    form: EntryForm,
    values: dict[str, Any],
    *,
    item: Item,
    places: dict[str, Place],
    converter: Converter,
) -> OnHandRow | None:
    """Return what was entered; None after saying why it cannot be read."""
    typed = values["quantity"]
    try:
        is_nothing = typed.casefold() in NOTHING
        amount_base = Decimal(0) if is_nothing else to_ledger(converter.to_base(typed))
    except MeasureError as error:
        form.take_fault(Fault(1, "quantity", str(error)))
        return None
    return OnHandRow(
        item_id=item.pk,
        place_id=places[values["place"]].pk,
        amount_base=amount_base,
        use_by=values["use_by"],
        lot_code=values["lot"],
    )


def _set(
    request: HttpRequest, form: EntryForm, row: OnHandRow, converter: Converter
) -> bool:
    """Set it and say what was understood; False after saying why not."""
    entry = form.entry()
    try:
        change = set_on_hand(
            row, at=timezone.now(), by_id=request.user.pk, note=entry["why"]
        )
    except StockError as error:
        form.take_fault(Fault(1, "quantity", str(error)))
        return False
    understood = _understood(entry["quantity"], converter)
    messages.success(request, _outcome(row, change, entry["place"], converter))
    if understood:
        messages.info(request, f"Understood: {understood}")
    return True


def _understood(typed: str, converter: Converter) -> str:
    if typed.casefold() in NOTHING:
        return ""
    return " ".join(converter.explain(typed))


def _outcome(
    row: OnHandRow, change: OnHandChange | None, place: str, converter: Converter
) -> str:
    dated = f", {use_by_words(row.use_by, timezone.localdate())}" if row.use_by else ""
    now = f"{place}{dated}: {Amount(row.amount_base, converter).words} on hand"
    if change is None:
        return f"{now}, just as it was on record."
    difference = row.amount_base - change.before_base
    if not difference:
        return f"{now}; only the lot is another."
    words = Amount(abs(difference), converter).words
    return f"{now}, {words} {'more' if difference > 0 else 'less'} than on record."
