"""Shelves: what do we have?"""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2 import A

from stock.entry.entries import folded
from stock.ledger.levels import LotOnHand
from stock.models import Item, Place
from stock.templatetags.words import moment_words
from stock.web.amounts import Amount, AmountColumn
from stock.web.shelves import shelf_rows
from stock.web.shelves.date_words import entered_words, is_out_of_date, use_by_words
from stock.web.shelves.shelf_rows import ShelfRow

Kind = Item.Kind
# What the page may be narrowed to: the word in the address, on the page, and the kinds.
NARROWED = {
    "ingredient": (gettext_lazy("Ingredients"), (Kind.INGREDIENT, Kind.PART)),
    "packaging": (gettext_lazy("Packaging"), (Kind.PACKAGING,)),
    "made": (gettext_lazy("Made here"), (Kind.MADE, Kind.CAKE)),
}
# These are shown once they have been on a shelf, or when they are asked for.
SHOWN_ONCE_MOVED = (Kind.PART, Kind.MADE, Kind.CAKE)
NO_PLACE = gettext_lazy("No usual place yet")


@dataclass(frozen=True, slots=True)
class ShelvesFilter:
    """What the page was asked to show."""

    words: str = ""
    kind: str = ""
    in_one_list: bool = False
    with_retired: bool = False

    @classmethod
    def from_address(cls, query: QueryDict) -> "ShelvesFilter":
        """Read the page's address; what it does not know is left aside."""
        kind = query.get("kind", "")
        return cls(
            words=query.get("words", "").strip(),
            kind=kind if kind in NARROWED else "",
            in_one_list=query.get("view") == "list",
            with_retired=query.get("retired") == "yes",
        )

    def takes(self, row: ShelfRow) -> bool:
        """Whether a row is asked for, retired or not."""
        if self.kind and row.item.kind not in NARROWED[self.kind][1]:
            return False
        if not self.kind and row.item.kind in SHOWN_ONCE_MOVED and not row.has_moved:
            return False
        return folded(self.words) in folded(row.item.name)


class ShelfTable(tables.Table):
    """Items of one place, or of all."""

    item = tables.Column(
        gettext_lazy("Item"),
        linkify=("stock:item", [A("item__pk")]),
        attrs={"th": {"class": "shelf-name"}},
    )
    on_hand = AmountColumn(
        gettext_lazy("On hand"), attrs={"th": {"class": "shelf-amount"}}
    )
    first_use_by = tables.Column(
        gettext_lazy("Use first"),
        empty_values=(),
        attrs={"th": {"class": "shelf-date"}, "td": {"class": "day"}},
    )
    lots = tables.Column(
        gettext_lazy("Lots"), empty_values=(), attrs={"th": {"class": "shelf-lots"}}
    )
    entered = tables.Column(
        gettext_lazy("Last count"), attrs={"td": {"class": "words"}}
    )

    class Meta:
        orderable = False
        empty_text = gettext_lazy("Nothing stands here.")

    def __init__(self, rows: Iterable[ShelfRow], *, caption: str, today: date) -> None:
        super().__init__(rows)
        self.caption = caption
        self.today = today

    def render_item(self, record: ShelfRow) -> str:
        """Return the name, with what is unusual about it."""
        return (
            f"{capfirst(record.item.name)}{', retired' if record.item.retired else ''}"
        )

    def render_first_use_by(self, record: ShelfRow) -> SafeString | str:
        """Return the earliest use-by date in words; past ones stand out."""
        use_by = record.first_use_by
        if use_by is None:
            return ""
        words = use_by_words(use_by, self.today)
        if is_out_of_date(use_by, self.today):
            return format_html("<strong>{}</strong>", words)
        return words

    def render_lots(self, record: ShelfRow) -> SafeString | str:
        """Return the lots: one in words, several one tap away."""
        if not any(lot.use_by or lot.code or lot.on_hold for lot in record.lots):
            return ""
        told = [self._lot_words(record, lot) for lot in record.lots]
        if len(told) == 1:
            return _code_words(record.lots[0])
        items = format_html_join("", "<li>{}</li>", ([words] for words in told))
        return format_html(
            '<details class="amount"><summary>{}</summary><ul>{}</ul></details>',
            _lots_words(record.lots),
            items,
        )

    def _lot_words(self, record: ShelfRow, lot: LotOnHand) -> str:
        amount = Amount(lot.amount_base, record.on_hand.converter)
        code = _(", lot {code}").format(code=lot.code) if lot.code else ""
        held = _(", on hold") if lot.on_hold else ""
        return f"{amount.words}, {use_by_words(lot.use_by, self.today)}{code}{held}"

    def render_entered(self, record: ShelfRow) -> str:
        """Return how old the last count is."""
        return entered_words(record.entered, self.today)


def _code_words(lot: LotOnHand) -> str:
    """Return the code of an only lot, and whether it is on hold."""
    return ", ".join(
        words for words in (lot.code, _("on hold") if lot.on_hold else "") if words
    )


def _lots_words(lots: Collection[LotOnHand]) -> str:
    """Return how many lots there are: 3 lots, 1 on hold."""
    held = sum(lot.on_hold for lot in lots)
    return (
        _("{count} lots, {held} on hold").format(count=len(lots), held=held)
        if held
        else _("{count} lots").format(count=len(lots))
    )


def shelves(request: HttpRequest) -> HttpResponse:
    """Show what is on hand, place by place in walking order or in one list."""
    wanted = ShelvesFilter.from_address(request.GET)
    every_row = shelf_rows.read_shelves()
    rows = [row for row in every_row if wanted.takes(row)]
    shown = [row for row in rows if wanted.with_retired or not row.item.retired]
    context = {
        "wanted": wanted,
        "kinds": [(word, label) for word, (label, _) in NARROWED.items()],
        "sections": _sections(shown, wanted),
        "has_items": bool(every_row),
        "held_count": len(
            {lot.lot_id for row in every_row for lot in row.lots if lot.on_hold}
        ),
        "retired_count": len({row.item.pk for row in rows if row.item.retired}),
        "count": len({row.item.pk for row in shown}),
    }
    return render(request, "stock/shelves.html", context)


def _sections(rows: list[ShelfRow], wanted: ShelvesFilter) -> list[dict[str, Any]]:
    """Return headings and tables: one for each place, or one for all."""
    now, today = timezone.now(), timezone.localdate()
    as_of = moment_words(now, today)
    if wanted.in_one_list:
        caption = _(
            "Everything on the shelves, all places together, as of {as_of}."
        ).format(as_of=as_of)
        table = ShelfTable(shelf_rows.together(rows), caption=caption, today=today)
        return [{"heading": _("All places together"), "table": table}] if rows else []
    by_place: dict[Place | None, list[ShelfRow]] = defaultdict(list)
    for row in rows:
        by_place[row.place].append(row)
    return [
        {
            "heading": place.name if place else NO_PLACE,
            "table": ShelfTable(
                sorted(of_place, key=_walking),
                caption=_("{name}, as of {as_of}.").format(
                    name=place.name if place else NO_PLACE, as_of=as_of
                ),
                today=today,
            ),
        }
        for place, of_place in sorted(by_place.items(), key=lambda pair: _walk(pair[0]))
    ]


def _walk(place: Place | None) -> tuple[bool, int, str]:
    if place is None:
        return (True, 0, "")
    return (False, place.walk_order, place.name.casefold())


def _walking(row: ShelfRow) -> tuple[int, str]:
    return row.item.walk_order, row.item.name.casefold()
