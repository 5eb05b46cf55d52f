"""The tables on an item's page: its lots, and what came and left."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from stock.ledger.levels import LotOnHand
from stock.measures.conversion import Converter
from stock.models import Item, Movement, Place
from stock.templatetags.words import moment_words
from stock.web.amounts import Amount, AmountColumn, tap_for_base
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

    place = tables.Column()
    on_hand = AmountColumn("On hand")
    use_by = tables.Column(
        "Use",
        accessor="lot__use_by",
        empty_values=(),
        attrs={"td": {"class": "day"}},
    )
    code = tables.Column("Lot", accessor="lot__code", default="")
    correct = tables.TemplateColumn(
        template_name="stock/correct_link.html", verbose_name="Edit"
    )

    class Meta:
        orderable = False
        empty_text = "Nothing of it is on record in any place."

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


class MovementsTable(tables.Table):
    """What came and left, latest first."""

    at = tables.Column("When", attrs={"td": {"class": "day"}})
    kind = tables.Column("What")
    amount_base = tables.Column("Quantity")
    place = tables.Column()
    lot = tables.Column()
    by = tables.Column("Who", default="")
    note = tables.Column("Why", default="", attrs={"td": {"class": "words"}})

    class Meta:
        orderable = False
        empty_text = "Nothing has been recorded yet."

    def __init__(
        self,
        rows: Iterable[Movement],
        *,
        converter: Converter,
        caption: str,
        today: date,
    ) -> None:
        super().__init__(rows)
        self.converter = converter
        self.caption = caption
        self.today = today

    def render_at(self, value: datetime) -> str:
        """Return the moment in words."""
        return moment_words(value, self.today)

    def render_kind(self, record: Movement) -> str:
        """Return what it was; of waste with its reason: Wasted, spoiled."""
        if record.waste is None:
            return record.get_kind_display()
        what = "Waste undone" if record.amount_base > 0 else "Wasted"
        return f"{what}, {record.waste.get_reason_display().lower()}"

    def render_amount_base(self, value: Decimal) -> SafeString:
        """Return what came or left, the base figure one tap away."""
        amount = Amount(value, self.converter)
        return tap_for_base(amount.difference_words, amount)

    def render_lot(self, record: Movement) -> str:
        """Return the lot's code and date, if it has any."""
        dated = use_by_words(record.lot.use_by, self.today) if record.lot.use_by else ""
        return ", ".join(words for words in (record.lot.code, dated) if words)
