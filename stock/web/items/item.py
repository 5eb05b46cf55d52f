"""An item: how much of it is there, how is it measured, who sells it?

The table of lots on an item's page.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.conversion import converters
from stock.ledger import levels
from stock.ledger.levels import ZERO, LotOnHand
from stock.measures.conversion import Converter
from stock.measures.item_units import OwnWord
from stock.measures.nouns import with_noun
from stock.measures.units import Measure
from stock.measures.wording import say_plain
from stock.models import Item, Place
from stock.templatetags.words import moment_words
from stock.web.amounts import Amount, AmountColumn, content_words
from stock.web.items.reference_weights import equivalent_sources
from stock.web.items.substitutes import substitutes_of
from stock.web.request.bakery_time import current_bakery
from stock.web.shelves.counted_in import counted_in_context
from stock.web.shelves.date_words import entered_words, is_out_of_date, use_by_words
from stock.web.shelves.history import (
    LATEST_MOVEMENTS,
    MovementsTable,
    history_rows,
    latest_rows,
)
from stock.web.shelves.shelf_rows import latest, read_entered
from stock.web.suppliers.pack_tables import ItemPacksTable


@dataclass(frozen=True, slots=True)
class LotRow:
    """What is there of one lot in one place."""

    item: Item
    place: Place
    lot: LotOnHand
    on_hand: Amount


class LotsTable(tables.Table):
    """What is on hand, by place and lot."""

    place = tables.Column(gettext_lazy("Place"))
    on_hand = AmountColumn(gettext_lazy("On hand"))
    use_by = tables.Column(
        gettext_lazy("Use"),
        accessor="lot__use_by",
        empty_values=(),
        attrs={"td": {"class": "day"}},
    )
    code = tables.Column(gettext_lazy("Lot"), accessor="lot__code", default="")
    hold = tables.TemplateColumn(
        template_name="stock/hold_link.html", verbose_name=gettext_lazy("Hold")
    )
    correct = tables.TemplateColumn(
        template_name="stock/correct_link.html", verbose_name=gettext_lazy("Edit")
    )

    class Meta:
        orderable = False
        empty_text = gettext_lazy("Nothing of it is on record in any place.")

    def __init__(self, rows: Iterable[LotRow], *, caption: str, today: date) -> None:
        super().__init__(rows)
        self.caption = caption
        self.today = today

    def render_use_by(self, value: date | None) -> SafeString | str:
        """Return the last day of use in words; a past one stands out."""
        words = use_by_words(value, self.today)
        if is_out_of_date(value, self.today):
            return format_html("<strong>{}</strong>", words)
        return words


def item(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show everything about an item."""
    row = get_object_or_404(Item.objects.select_related("place", "whole"), pk=item_id)
    converter = converters.converters_for([item_id])[item_id]
    now, today = timezone.now(), timezone.localdate()
    context = {
        "item": row,
        "is_bought": row.kind in Item.BOUGHT_KINDS,
        "is_part": row.kind == Item.Kind.PART,
        "is_made": row.kind in (Item.Kind.MADE, Item.Kind.CAKE),
        **_on_hand(row, converter, today=today, now=now),
        **_measures(row, converter),
        **counted_in_context(row, converter),
        **_buying(row, converter, request, now=now),
        **_history(row, converter, show_all=request.GET.get("history") == "all"),
        "one": with_noun("1 each", converter),
        "parts": list(row.parts.filter(retired=False).order_by("name")),
        **(substitutes_of(row) if row.kind in Item.BOUGHT_KINDS else {}),
    }
    return render(request, "stock/item.html", context)


def _on_hand(
    item: Item, converter: Converter, *, today: date, now: datetime
) -> dict[str, Any]:
    places = Place.objects.in_bulk()
    lots = levels.lots_on_hand(item=item)
    entered = read_entered(item)
    total_base = sum((lot.amount_base for lot in lots), ZERO) if entered else None
    rows = [
        LotRow(item, places[lot.place_id], lot, _lot_amount(lot.amount_base, converter))
        for lot in lots
    ]
    caption = _("{capfirst} by place and lot, as of {moment}.").format(
        capfirst=capfirst(item.name), moment=moment_words(now, today)
    )
    free = [lot for lot in lots if not lot.on_hold]
    held_base = sum((lot.amount_base for lot in lots if lot.on_hold), ZERO)
    dates = [lot.use_by for lot in free if lot.use_by and lot.amount_base > 0]
    return {
        "held": Amount(held_base, converter),
        "on_hand": Amount(total_base, converter),
        "entered_words": entered_words(latest(entered.values()), today),
        "use_first": use_by_words(min(dates), today) if dates else "",
        "lots": LotsTable(rows, caption=caption, today=today),
        "has_lots": bool(rows),
    }


def _lot_amount(amount_base: Decimal, converter: Converter) -> Amount:
    """Return a lot's amount, said as the sum above it: about 10 lb (4,500 g)."""
    amount = Amount(amount_base, converter)
    is_rounded = amount_base > 0 and not amount.is_as_said
    return replace(amount, is_rounded=is_rounded)


def _measures(item: Item, converter: Converter) -> dict[str, Any]:
    return {
        "converter": converter,
        "safety_words": content_words(item.safety_base, converter),
        "par_words": content_words(item.par_base, converter),
        "equivalents": [
            (with_noun(text, converter), source)
            for text, source in equivalent_sources(item)
        ],
        "own_words": [
            (_own_word_text(own, converter), _own_word_note(own, converter))
            for own in converter.own_words
        ],
        "contains": item.allergens,
    }


def _own_word_text(own: OwnWord, converter: Converter) -> str:
    """Return what a word holds: 1 flat = 30 eggs; of what is itself one, 1 yard."""
    return (
        f"1 {own.word}" if _is_one(own, converter) else with_noun(str(own), converter)
    )


def _is_one(own: OwnWord, converter: Converter) -> bool:
    return converter.measure is Measure.COUNT and own.holds_base == 1


def _own_word_note(own: OwnWord, converter: Converter) -> str:
    """Return what kind of word it is, and which unit it replaces."""
    kind = _("a pack") if own.is_pack else _("its own word")
    if _is_one(own, converter):
        kind = _("its own word for one")
    if own.word not in converter.replaced_base_by_unit:
        return kind
    was_base = converter.replaced_base_by_unit[own.word]
    was = "" if was_base is None else f", {say_plain(was_base, converter.measure)}"
    return _("{kind}, in place of the unit {word}{was}").format(
        kind=kind, word=own.word, was=was
    )


def _buying(
    item: Item, converter: Converter, request: HttpRequest, *, now: datetime
) -> dict[str, Any]:
    packs = list(
        item.packs.select_related("supplier", "item").order_by(
            "retired", "-preferred", "supplier__name", "size_base"
        )
    )
    as_of = moment_words(now, timezone.localdate())
    currency = current_bakery(request).currency
    return {
        "packs": ItemPacksTable(
            packs,
            converters={item.pk: converter},
            caption=_("Who sells {name}, prices in {currency}, as of {as_of}.").format(
                name=item.name, currency=currency, as_of=as_of
            ),
            currency=currency,
        ),
    }


def _history(item: Item, converter: Converter, *, show_all: bool) -> dict[str, Any]:
    """Return the latest movements, or all."""
    rows, has_more = latest_rows(item.movements.all(), show_all=show_all)
    which = (
        _("The latest {latest_movements} entries").format(
            latest_movements=LATEST_MOVEMENTS
        )
        if has_more
        else _("All entries")
    )
    signs = _("what came (+) and what left (\N{MINUS SIGN})")
    table = MovementsTable(
        history_rows(rows, {item.pk: converter}, today=timezone.localdate()),
        caption=_("{which} for {name}: {signs}.").format(
            which=which, name=item.name, signs=signs
        ),
    )
    return {"movements": table, "has_more": has_more}
