"""The table of lots on an item's page."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy

from stock.ledger.levels import LotOnHand
from stock.models import Item, Place
from stock.web.amounts import Amount, AmountColumn
from stock.web.shelves.date_words import is_out_of_date, use_by_words


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
