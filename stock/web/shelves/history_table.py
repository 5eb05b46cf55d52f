"""The table of what came and left."""

from collections.abc import Iterable

import django_tables2 as tables
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy

from stock.web.amounts import Amount, tap_for_base
from stock.web.shelves.history import HistoryRow


class MovementsTable(tables.Table):
    """What came and left, latest first."""

    when = tables.Column(gettext_lazy("When"), attrs={"td": {"class": "day"}})
    what = tables.Column(
        gettext_lazy("What"), linkify=lambda record: record.document_url
    )
    amount = tables.Column(gettext_lazy("Quantity"))
    place = tables.Column(gettext_lazy("Place"), accessor="movement__place")
    lot_words = tables.Column(gettext_lazy("Lot"), default="")
    who = tables.Column(gettext_lazy("Who"), default="")
    why = tables.Column(
        gettext_lazy("Why"), default="", attrs={"td": {"class": "words"}}
    )

    class Meta:
        orderable = False
        empty_text = gettext_lazy("Nothing has been recorded yet.")

    def __init__(self, rows: Iterable[HistoryRow], *, caption: str) -> None:
        super().__init__(rows)
        self.caption = caption

    def render_amount(self, value: Amount) -> SafeString:
        """Return what came or left, the base figure one tap away."""
        return tap_for_base(value.difference_words, value)
