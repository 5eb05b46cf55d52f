"""Wasting one item: how much, from where, and why?"""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import uuid4

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from stock.conversion import converters
from stock.counts.units import counting_units
from stock.errors import StockError
from stock.measures.conversion import Converter
from stock.measures.counting_units import unit_choices
from stock.models import Item, Place, Waste
from stock.wasting.errors import MoreThanOnRecordError, UnknownReasonError, WasteError
from stock.wasting.quantities import Source, read_taken, sources
from stock.wasting.wasting import WasteEntry, waste
from stock.wasting.wording import amount_words
from stock.web.amounts import kept_together
from stock.web.request.row_ids import sent_id
from stock.web.shelves.date_words import use_by_words

# An amount as this page sends it back: base units, to the ledger's place.
EXACT = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,4})?")
ANY_LOT = "any"
LONGEST_KEY = 80


class UnknownSourceError(WasteError):
    """A place or a lot of the item that is not there."""

    def __init__(self) -> None:
        super().__init__("Choose where it was: that place or lot is not here.")


class SourceKey(NamedTuple):
    """A place, or one lot in it, as the form names it."""

    place_id: int
    lot_id: int | None


def source_value(place_id: int, lot_id: int | None) -> str:
    """Return how the form names a place, or one lot in it."""
    return f"{place_id}-{lot_id or ANY_LOT}"


@dataclass(slots=True)
class WasteForm:
    """What the page shows of an item, and what was sent."""

    item: Item
    converter: Converter
    sources: list[Source]
    unit: str  # that a bare number means; "": asked about
    text: str = ""
    source: str = ""
    reason: str = ""
    problem: str = ""
    more: dict[str, str] = field(default_factory=dict)  # more than is on record
    key: str = field(default_factory=lambda: str(uuid4()))

    @property
    def units(self) -> tuple[str, ...]:
        """The units that a bare number may mean, smallest first."""
        return unit_choices(self.converter)

    @property
    def choices(self) -> list[tuple[str, str]]:
        """Where it can be taken from: a value to send, and its words."""
        return [(_value(each), self._words(each)) for each in self.sources]

    @property
    def chosen(self) -> str:
        """What is chosen: a place by itself stands for its only lot."""
        values = [value for value, _ in self.choices]
        of_place = f"{self.source.partition('-')[0]}-{ANY_LOT}"
        return next((one for one in (self.source, of_place) if one in values), "")

    @property
    def reasons(self) -> list[tuple[str, str]]:
        """The reasons: a value to send, and its word."""
        return list(Waste.Reason.choices)

    def _words(self, source: Source) -> str:
        there = amount_words(source.amount_base, self.converter)
        if source.lot is None:
            return kept_together(f"{source.place.name}: {there} on record")
        dated = use_by_words(source.lot.use_by, timezone.localdate())
        lot = f", lot {source.lot.code}" if source.lot.code else ""
        return kept_together(f"{source.place.name}: {there}, {dated}{lot}")


def waste_item(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show the form of an item; record what was sent."""
    item = get_object_or_404(Item.objects.select_related("place"), pk=item_id)
    form = _read_form(item, request.POST if request.method == "POST" else request.GET)
    if request.method == "POST":
        row = _send(request, form)
        if row is not None:
            return redirect(f"{reverse('stock:waste')}?done={row.pk}")
    return render(request, "stock/waste_item.html", {"form": form, "item": item})


def _read_form(item: Item, sent: QueryDict) -> WasteForm:
    converter = converters.converters_for([item.pk])[item.pk]
    usual = counting_units({item.pk: item}, {item.pk: converter})[item.pk] or ""
    unit = sent.get("unit", usual)
    return WasteForm(
        item=item,
        converter=converter,
        sources=sources(item),
        unit=unit if unit in unit_choices(converter) else "",
        text=sent.get("quantity", "").strip(),
        source=sent.get("source", ""),
        reason=sent.get("reason") or sent.get("asked_reason", ""),
    )


def _send(request: HttpRequest, form: WasteForm) -> Waste | None:
    """Record what was sent; None after saying on the form why not."""
    try:
        entry = _entry(request.POST, form)
        key = request.POST.get("key", "").strip()[:LONGEST_KEY] or form.key
        return waste(entry, key=key, by_id=request.user.pk)
    except MoreThanOnRecordError as error:
        form.problem = str(error)
        form.more = _ways_on(form, error)
    except StockError as error:
        form.problem = str(error)
    return None


def _entry(sent: QueryDict, form: WasteForm) -> WasteEntry:
    if form.reason not in Waste.Reason.values:
        raise UnknownReasonError("", [label.lower() for _, label in form.reasons])
    source = _source(form)
    return WasteEntry(
        item_id=form.item.pk,
        place_id=source.place_id,
        amount_base=_amount_base(sent, form, source),
        reason=form.reason,
        lot_id=source.lot_id,
        beyond_record=sent.get("beyond") == _as_typed(form),
    )


def _source(form: WasteForm) -> SourceKey:
    """Return where it is taken from, with something on record there or not."""
    key = _source_key(form.source)
    if key is None or not Place.objects.filter(pk=key.place_id).exists():
        raise UnknownSourceError
    if key.lot_id and not form.item.lots.filter(pk=key.lot_id).exists():
        raise UnknownSourceError
    return key


def _source_key(text: str) -> SourceKey | None:
    place, _, lot = text.partition("-")
    place_id, lot_id = sent_id(place), sent_id(lot)
    if place_id is None or (lot_id is None and lot != ANY_LOT):
        return None
    return SourceKey(place_id, lot_id)


def _amount_base(sent: QueryDict, form: WasteForm, source: SourceKey) -> Decimal:
    """Return how much: what a button says exactly, else what was typed."""
    exact = sent.get("exact", "")
    if EXACT.fullmatch(exact):
        return Decimal(exact)
    shelf = (source.place_id, form.item.pk)
    return read_taken(form.text, form.converter, shelf, unit=form.unit or None)


def _ways_on(form: WasteForm, error: MoreThanOnRecordError) -> dict[str, Any]:
    """Return the two answers: all that is on record, or more all the same."""
    return {
        "all": f"{error.left_base:f}" if error.left_base > 0 else "",
        "all_words": kept_together(error.on_hand),
        "beyond": _as_typed(form) if form.text else "",
        "said_words": kept_together(error.said),
    }


def _as_typed(form: WasteForm) -> str:
    """Return what "it was more" is said of: another entry has to be asked anew."""
    return f"{form.text} {form.unit} {form.source}"


def _value(source: Source) -> str:
    return source_value(source.place.pk, source.lot_id)
