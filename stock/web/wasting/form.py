"""Wasting one item: how much, from where, and why?"""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from stock.errors import StockError
from stock.models import Item, Waste
from stock.wasting.errors import MoreThanOnRecordError, UnknownReasonError
from stock.wasting.wasting import WasteEntry, waste
from stock.web.amounts import kept_together
from stock.web.shelves.taking import (
    TakingForm,
    all_of_it,
    read_amount_base,
    read_source,
    sent_key,
    taking_values,
    tell_undone,
)


@dataclass(slots=True)
class WasteForm(TakingForm):
    """What the page shows of an item, and what was sent."""

    reason: str = ""

    @property
    def reasons(self) -> list[tuple[str, str]]:
        """The reasons: a value to send, and its word."""
        return [(value, str(label)) for value, label in Waste.Reason.choices]


def waste_item(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show the form of an item; record what was sent."""
    item = get_object_or_404(Item.objects.select_related("place"), pk=item_id)
    form = _read_form(item, request.POST if request.method == "POST" else request.GET)
    if request.method == "POST":
        row = _send(request, form)
        if row is not None:
            tell_undone(request, row.undone_at)
            return redirect(f"{reverse('stock:waste')}?done={row.pk}")
    return render(request, "stock/waste_item.html", {"form": form, "item": item})


def _read_form(item: Item, sent: QueryDict) -> WasteForm:
    reason = sent.get("reason") or sent.get("asked_reason", "")
    return WasteForm(**taking_values(item, sent), reason=reason)


def _send(request: HttpRequest, form: WasteForm) -> Waste | None:
    """Record what was sent; None after saying on the form why not."""
    try:
        entry = _entry(request.POST, form)
        return waste(entry, key=sent_key(request.POST, form), by_id=request.user.pk)
    except MoreThanOnRecordError as error:
        form.problem = str(error)
        form.more = _ways_on(form, error)
    except StockError as error:
        form.problem = str(error)
    return None


def _entry(sent: QueryDict, form: WasteForm) -> WasteEntry:
    if form.reason not in Waste.Reason.values:
        raise UnknownReasonError("", [label.lower() for _, label in form.reasons])
    source = read_source(form)
    return WasteEntry(
        item_id=form.item.pk,
        place_id=source.place_id,
        amount_base=read_amount_base(sent, form, source),
        reason=form.reason,
        lot_id=source.lot_id,
        beyond_record=sent.get("beyond") == _as_typed(form),
    )


def _ways_on(form: WasteForm, error: MoreThanOnRecordError) -> dict[str, Any]:
    """Return the two answers: all that is on record, or more all the same."""
    return {
        **all_of_it(error.left_base, form.converter),
        "beyond": _as_typed(form) if form.text else "",
        "said_words": kept_together(error.said),
    }


def _as_typed(form: WasteForm) -> str:
    """Return what "it was more" is said of: another entry has to be asked anew."""
    return f"{form.text} {form.unit} {form.source}"
