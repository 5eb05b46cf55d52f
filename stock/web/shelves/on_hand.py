"""Setting what is on hand: what is really there?

How a quantity was turned into its item's base unit, in sentences.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from stock.conversion import converters
from stock.entry.calendar_cells import Day
from stock.entry.cells import Choice, Name, Quantity, Text
from stock.entry.entries import Column, Fault, Sheet
from stock.errors import MeasureError, StockError
from stock.ledger import levels
from stock.ledger.correcting import (
    OnHandChange,
    OnHandRow,
    RecordMovedError,
    newest_movement,
    set_on_hand,
)
from stock.ledger.levels import ZERO
from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.reading.spoken import read_spoken
from stock.measures.resolution import to_ledger
from stock.models import Item, Place
from stock.web.amounts import Amount
from stock.web.forms.entry_forms import EntryForm, posted
from stock.web.shelves.date_words import use_by_words

SEEN = "seen"  # the hidden field with the item's newest movement when it was shown
LONGEST_ID = 19  # digits


def conversion_words(quantity: TypedQuantity, converter: Converter) -> str:
    """Return a sentence for each term, and one for the sum of several."""
    terms = converter.converted(quantity)
    sentences = []
    for term in terms:
        said = with_noun(term.said, converter)
        in_base = _base_words(term.amount_base, converter)
        through = (
            _(", through {through}").format(through=term.through)
            if term.through
            else ""
        )
        sentences.append(
            f"{said}." if said == in_base else f"{said} = {in_base}{through}."
        )
    if len(terms) > 1:
        together = _base_words(converter.to_base(quantity), converter)
        sentences.append(_("Together {together}.").format(together=together))
    return " ".join(sentences)


def _base_words(amount_base: Fraction, converter: Converter) -> str:
    words = f"{to_ledger(amount_base).normalize():f} {converter.base_unit}"
    return with_noun(words, converter)


@dataclass(frozen=True, slots=True)
class OnRecord:
    """What the record says of one place and one use-by date, all lots together."""

    place: Place
    use_by: date | None
    lot_codes: tuple[str, ...]
    amount: Amount

    @property
    def words(self) -> str:
        """The same in words: walk-in: 2 lb, by Friday."""
        dated = f", {use_by_words(self.use_by, timezone.localdate())}"
        return f"{self.place.name}: {self.amount}{dated if self.use_by else ''}"

    @property
    def lot(self) -> str:
        """The lot's code, where there is but one."""
        return self.lot_codes[0] if len(self.lot_codes) == 1 else ""


@dataclass(frozen=True, slots=True)
class Shelves:
    """All that the page needs to know of an item."""

    item: Item
    places: list[Place]
    converter: Converter
    on_record: list[OnRecord]

    def place_named(self, name: str) -> Place:
        """Return a place by the name that the form offered."""
        return next(place for place in self.places if place.name == name)


def set_on_hand_page(request: HttpRequest, item_id: int) -> HttpResponse:
    """Set what is on hand of an item in one place."""
    item = get_object_or_404(Item.objects.select_related("place"), pk=item_id)
    newest = newest_movement(item_id)  # before what is shown: later ones are not seen
    shelves = _read(item)
    form = _form(request, shelves, newest)
    values = form.read() if form.is_bound else None
    if values and _set(request, form, values, shelves):
        return redirect("stock:item", item_id)
    if form.is_bound:
        shelves = _read(item)  # what is on record may have changed meanwhile
    context = {"form": form, "item": item, "shelves": shelves}
    return render(request, "stock/set_on_hand.html", context)


def _read(item: Item) -> Shelves:
    places = list(Place.objects.all())
    converter = converters.converters_for([item.pk])[item.pk]
    lots: dict[tuple[int, date | None], list[levels.LotOnHand]] = defaultdict(list)
    for lot in levels.lots_on_hand(item=item):
        lots[lot.place_id, lot.use_by].append(lot)
    by_id = {place.pk: place for place in places}
    on_record = [
        OnRecord(
            by_id[place_id],
            use_by,
            tuple(lot.code for lot in together),
            Amount(sum((lot.amount_base for lot in together), ZERO), converter),
        )
        for (place_id, use_by), together in lots.items()
    ]
    return Shelves(item, places, converter, on_record)


def _sheet(places: list[Place]) -> Sheet:
    return Sheet(
        _("On hand"),
        (
            Column(
                "place", Choice(tuple(place.name for place in places)), required=True
            ),
            Column(
                "quantity",
                Quantity(),
                required=True,
                label=_("What is there"),
                help=_("As you would say it: 2 cases + 6 lb, 1/2 bag, none."),
            ),
            Column("use_by", Day(), help=_("From the label. Blank: it has no date.")),
            Column("lot", Name(), default="", help=_("From the label, if it has one.")),
            Column("why", Text(), default="", help=_("A word for whoever asks later.")),
        ),
    )


def _form(request: HttpRequest, shelves: Shelves, newest: int) -> EntryForm:
    """Return the form, which starts at what was asked for, or at the only record."""
    asked, usual = request.GET, shelves.item.place
    values: dict[str, Any] = {"place": usual.name if usual else ""}
    if len(shelves.on_record) == 1:
        [only] = shelves.on_record
        values = {"place": only.place.name, "use_by": only.use_by, "lot": only.lot}
    if "place" in asked:
        named = (each.name for each in shelves.places if str(each.pk) == asked["place"])
        values = {
            "place": next(named, ""),
            "use_by": asked.get("use_by", ""),
            "lot": asked.get("lot", ""),
        }
    form = EntryForm(_sheet(shelves.places), posted(request), values=values)
    form.fields[SEEN] = forms.CharField(
        initial=newest, required=False, widget=forms.HiddenInput
    )
    return form


def _seen(form: EntryForm) -> int:
    """Return what the page showed last; what does not say so has seen nothing."""
    said = str(form.data.get(SEEN, ""))
    return int(said) if said.isdecimal() and len(said) < LONGEST_ID else 0


def _show_now(form: EntryForm, item_id: int) -> None:
    """Have the form, shown again, say that what is on record now was seen."""
    data = form.data.copy()  # type: ignore[attr-defined]  # as posted
    data[SEEN] = str(newest_movement(item_id))
    form.data = data


def _row(form: EntryForm, values: dict[str, Any], shelves: Shelves) -> OnHandRow | None:
    """Return what was entered; None after saying why it cannot be read."""
    try:
        amount_base = _amount_base(values, shelves.converter)
    except MeasureError as error:
        form.take_fault(Fault(1, "quantity", str(error)))
        return None
    return OnHandRow(
        item_id=shelves.item.pk,
        place_id=shelves.place_named(values["place"]).pk,
        amount_base=amount_base,
        use_by=values["use_by"],
        lot_code=values["lot"],
    )


def _amount_base(values: dict[str, Any], converter: Converter) -> Decimal:
    """Return what was said, as at the shelf: what has two meanings is asked about."""
    spoken = read_spoken(str(values["quantity"]), converter)
    return to_ledger(spoken.amount_base) if spoken else ZERO


def _set(
    request: HttpRequest, form: EntryForm, values: dict[str, Any], shelves: Shelves
) -> bool:
    """Set it and say what was understood; False after saying why not."""
    row = _row(form, values, shelves)
    if row is None:
        return False
    try:
        change = set_on_hand(
            row, by_id=request.user.pk, note=values["why"], seen=_seen(form)
        )
    except RecordMovedError as error:
        form.take_fault(Fault(1, "quantity", str(error)))
        _show_now(form, row.item_id)
        return False
    except StockError as error:
        form.take_fault(Fault(1, "quantity", str(error)))
        return False
    messages.success(request, _outcome(row, change, shelves))
    spoken = read_spoken(str(values["quantity"]), shelves.converter)
    if spoken and not spoken.is_none:
        understood = conversion_words(spoken.quantity, shelves.converter)
        if spoken.tare:
            understood = f"{with_noun(spoken.understood, shelves.converter)}."
        messages.info(request, f"Understood: {understood}")
    for other in shelves.on_record:
        if other.place.pk == row.place_id and other.use_by != row.use_by:
            messages.info(
                request, _("Also there, as it was: {words}.").format(words=other.words)
            )
    return True


def _outcome(row: OnHandRow, change: OnHandChange | None, shelves: Shelves) -> str:
    place = next(each for each in shelves.places if each.pk == row.place_id)
    there = Amount(row.amount_base, shelves.converter)
    now = _("{words} on hand").format(
        words=OnRecord(place, row.use_by, (), there).words
    )
    if change is None:
        return _("{now}, just as it was on record.").format(now=now)
    difference_base = row.amount_base - change.before_base
    if not difference_base:
        return _("{now}; only the lot is another.").format(now=now)
    difference = Amount(abs(difference_base), shelves.converter)
    more_or_less = _("more") if difference_base > 0 else _("less")
    return _("{now}, {difference} {more_or_less} than on record.").format(
        now=now, difference=difference, more_or_less=more_or_less
    )
