"""What the forms that take an item from a shelf share: how much, and from where?"""

import re
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, QueryDict
from django.utils import timezone
from django.utils.translation import gettext as _

from stock.conversion import converters
from stock.counts.units import counting_units
from stock.entry.entries import folded
from stock.errors import StockError
from stock.measures.amount_words import amount_words
from stock.measures.conversion import Converter
from stock.measures.counting_units import unit_choices
from stock.models import Item, Place
from stock.wasting.quantities import Source, read_taken, sources
from stock.web.amounts import kept_together
from stock.web.request.row_ids import sent_id
from stock.web.shelves.date_words import use_by_words

# An amount as a page sends it back: base units, to the ledger's place.
EXACT = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,4})?")
ANY_LOT = "any"
LONGEST_KEY = 80


class UnknownSourceError(StockError):
    """A place or a lot of the item that is not there."""

    def __init__(self) -> None:
        super().__init__(_("Choose where it was: that place or lot is not here."))


class SourceKey(NamedTuple):
    """A place, or one lot in it, as a form names it."""

    place_id: int
    lot_id: int | None


def source_value(place_id: int, lot_id: int | None) -> str:
    """Return how a form names a place, or one lot in it."""
    return f"{place_id}-{lot_id or ANY_LOT}"


@dataclass(slots=True)
class TakingForm:
    """What a page shows of an item that is taken from, and what was sent."""

    item: Item
    converter: Converter
    sources: list[Source]
    unit: str  # that a bare number means; "": asked about
    text: str = ""
    source: str = ""
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

    def _words(self, source: Source) -> str:
        there = amount_words(source.amount_base, self.converter)
        if source.lot is None:
            return kept_together(
                _("{name}: {there} on record").format(
                    name=source.place.name, there=there
                )
            )
        dated = use_by_words(source.lot.use_by, timezone.localdate())
        lot = _(", lot {code}").format(code=source.lot.code) if source.lot.code else ""
        held = _(", on hold") if source.lot.on_hold else ""
        return kept_together(f"{source.place.name}: {there}, {dated}{lot}{held}")


def taking_values(item: Item, sent: QueryDict) -> dict[str, Any]:
    """Return what a TakingForm is made of: the item's own, and what was sent."""
    converter = converters.converters_for([item.pk])[item.pk]
    usual = counting_units({item.pk: item}, {item.pk: converter})[item.pk] or ""
    unit = sent.get("unit", usual)
    return {
        "item": item,
        "converter": converter,
        "sources": sources(item),
        "unit": unit if unit in unit_choices(converter) else "",
        "text": sent.get("quantity", "").strip(),
        "source": sent.get("source", ""),
    }


def tell_undone(request: HttpRequest, undone_at: datetime | None) -> None:
    """Say it where a form was sent again whose entry was undone since."""
    if undone_at is not None:
        sentence = _("This was recorded and undone since. Nothing else was recorded.")
        messages.info(request, sentence)


def sent_key(sent: QueryDict, form: TakingForm) -> str:
    """Return the key that a form was sent with; a new one where it has none."""
    return sent.get("key", "").strip()[:LONGEST_KEY] or form.key


def read_source(form: TakingForm) -> SourceKey:
    """Return where it is taken from, with something on record there or not."""
    key = _source_key(form.source)
    if key is None or not Place.objects.filter(pk=key.place_id).exists():
        raise UnknownSourceError
    if key.lot_id and not form.item.lots.filter(pk=key.lot_id).exists():
        raise UnknownSourceError
    return key


def read_amount_base(sent: QueryDict, form: TakingForm, source: SourceKey) -> Decimal:
    """Return how much: what a button says exactly, else what was typed."""
    exact = sent.get("exact", "")
    if EXACT.fullmatch(exact):
        return Decimal(exact)
    shelf = (source.place_id, form.item.pk)
    return read_taken(form.text, form.converter, shelf, unit=form.unit or None)


def all_of_it(left_base: Decimal, converter: Converter) -> dict[str, str]:
    """Return the answer that it is all there is: its exact amount, and in words."""
    return {
        "all": f"{left_base:f}" if left_base > 0 else "",
        "all_words": kept_together(amount_words(left_base, converter)),
    }


def found_items(items: list[Item], words: str) -> dict[str, Any]:
    """Return the items that a tap chooses: all, or those of a name."""
    wanted = folded(words)
    found = [item for item in items if wanted in folded(item.name)]
    return {"items": found, "words": words.strip()}


def _source_key(text: str) -> SourceKey | None:
    place, _, lot = text.partition("-")
    place_id, lot_id = sent_id(place), sent_id(lot)
    if place_id is None or (lot_id is None and lot != ANY_LOT):
        return None
    return SourceKey(place_id, lot_id)


def _value(source: Source) -> str:
    return source_value(source.place.pk, source.lot_id)
