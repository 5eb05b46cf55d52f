"""An item's days as a table: in words, the figure in the base unit under each."""

from collections.abc import Iterable, Iterator
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.sentences.words import capitalized
from planning.web.page_words import NOTHING, PageWords, SaidAmount
from planning.web.shelf.shelf_days import ShelfDay, ShelfLines
from stock.templatetags.words import full_day_words
from stock.web.amounts import NO_BREAK

DASH = "\N{EN DASH}"


class DayTable(tables.Table):
    """What is on hand as each day begins, what comes and goes, and what is left."""

    day = tables.Column(gettext_lazy("Day"))
    opens = tables.Column(gettext_lazy("On hand"))
    received = tables.Column(gettext_lazy("On order"))
    used = tables.Column(gettext_lazy("Used"))
    expired = tables.Column(gettext_lazy("Expired"))
    left = tables.Column(gettext_lazy("Left"))
    state = tables.Column(gettext_lazy("State"), attrs={"td": {"class": "words"}})

    class Meta:
        orderable = False
        attrs = {"class": "across"}

    def __init__(self, rows: Iterable[dict[str, Any]], *, caption: str) -> None:
        super().__init__(rows)
        self.caption = caption


def day_table(
    words: PageWords, node: int, lines: ShelfLines, *, query: str = ""
) -> DayTable:
    """Return the table of an item that has days; what is used leads to what uses it.

    `query` is what the address of another page takes to show the same plan.
    """
    planned = words.planned
    caption = _(
        "{names} day by day, as of {moment}: said without packs, and in "
        "{units}. Suggested orders are not counted in. Tap what is used "
        "for what uses it."
    ).format(
        names=capitalized(planned.kitchen.nodes.names[node]),
        moment=words.moment(planned.plan.window.as_of),
        units=planned.kitchen.nodes.units[node],
    )
    return DayTable(list(_rows(words, node, lines, query)), caption=caption)


def _rows(
    words: PageWords, node: int, lines: ShelfLines, query: str
) -> Iterator[dict[str, Any]]:
    item_id = words.planned.kitchen.nodes.ids[node]
    days = zip(
        lines.line(node).days,
        lines.opens_base(node),
        lines.lacks_base(node),
        strict=True,
    )
    for day, opens_base, lack_base in days:
        yield {
            "day": full_day_words(day.on, words.today).replace(" ", NO_BREAK),
            "opens": _both(words.gap(node, opens_base)),
            "received": _both(words.gap(node, float(day.received_base))),
            "used": _used(words, node, day, item_id, query),
            "expired": _both(words.gap(node, float(day.expired_base))),
            "left": _both(
                words.gap(node, float(day.closing_base)), if_none=str(NOTHING)
            ),
            "state": _state(day, words.gap(node, lack_base)),
        }


def _used(
    words: PageWords, node: int, day: ShelfDay, item_id: int, query: str
) -> SafeString:
    said = words.gap(node, float(day.used_base))
    if said.is_nothing:
        return _both(said)
    href = reverse("planning:reasons", args=[item_id, day.on.isoformat()]) + query
    return format_html('<a href="{}">{}</a>', href, _both(said))


def _both(said: SaidAmount, if_none: str = DASH) -> SafeString:
    if said.is_nothing:
        return format_html("{}", if_none)
    return format_html("{}<br>{}", said.words, said.beneath)


def _state(day: ShelfDay, lack: SaidAmount) -> SafeString:
    if day.is_short:
        short = _("{amount} short").format(amount=lack.words)
        return format_html("<strong>{}</strong>", short)
    if day.below_safety:
        return format_html("{}", _("below safety"))
    return format_html("{}", _("below par") if day.below_par else _("enough"))
