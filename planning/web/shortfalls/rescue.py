"""Rescue: what can no delivery save, and what is to be bought by hand for it?"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planning.plan.planner import make_plan
from planning.web.page_words import PageWords
from planning.web.shortfalls.page import ahead_link
from planning.web.shortfalls.shortfall_rows import CakeFinder, CakeList
from planning.web.showing import Context, show
from planning.wording.rescue import (
    ToBuy,
    WithoutCake,
    find_lost_items,
    list_as_text,
    retired_but_needed,
    shopping_list,
)
from planning.wording.substitutes import InPlace, find, in_full
from stock.models import Bakery
from stock.web.request.bakery_time import current_bakery

FIGURE = {"th": {"class": "num"}, "td": {"class": "num"}}
WORDS = {"attrs": {"td": {"class": "words"}}}


@dataclass(frozen=True, slots=True)
class RescueRow:
    """What could be done instead of buying one item by hand."""

    item_id: int
    name: str
    needed: str
    is_sold: bool
    by: str
    without: tuple[WithoutCake, ...]
    smaller_batches: tuple[str, ...]
    in_place: tuple[InPlace, ...]

    @property
    def is_worth_saying(self) -> bool:
        """Whether anything could be done instead."""
        return bool(self.without or self.smaller_batches or self.in_place)


class RescueTable(tables.Table):
    """The shopping list, what is needed first on top."""

    name = tables.Column(gettext_lazy("Item"))
    buy = tables.Column(gettext_lazy("Buy"))
    by = tables.Column(gettext_lazy("Have it by"))
    needed = tables.Column(
        gettext_lazy("Needed before the next delivery"), attrs=FIGURE
    )
    cakes = tables.TemplateColumn(
        template_name="planning/shortfall_cakes.html",
        verbose_name=gettext_lazy("Cakes it saves"),
        **WORDS,
    )

    class Meta:
        orderable = False

    def __init__(self, rows: Iterable[dict[str, object]], *, caption: str) -> None:
        super().__init__(rows)
        self.caption = caption

    def render_name(self, record: dict[str, object]) -> SafeString:
        """Return the name; it leads to the item's days."""
        return ahead_link(int(str(record["item_id"])), str(record["name"]), "")


def rescue(request: HttpRequest) -> HttpResponse:
    """Show the shopping list for one run, and what could be done instead."""
    return show(
        request, "planning/rescue.html", lambda: _rescue(current_bakery(request))
    )


def _rescue(bakery: Bakery) -> Context:
    planned = make_plan(bakery=bakery, as_of=timezone.now())
    words = PageWords(planned, timezone.localdate())
    lost = find_lost_items(planned)
    rows = shopping_list(planned, lost, words.telling)
    in_place = in_full(planned, find(planned, lost), words.telling)
    retired = retired_but_needed(planned)
    references = {cake for row in rows for cake in row.cakes}
    cakes = CakeFinder(words, references)
    caption = _(
        "What no delivery saves, {day} to {day2}, as of {moment}. Rounded "
        "up to what shops sell."
    ).format(
        day=words.day(planned.plan.window.from_on),
        day2=words.day(planned.plan.window.to_on),
        moment=words.moment(planned.plan.window.as_of),
    )
    return {
        "summary": _summary(words, rows, len(references), retired),
        "retired": retired,
        "table": RescueTable(
            [_row(words, row, cakes) for row in rows], caption=caption
        ),
        "has_rows": bool(rows),
        "text": list_as_text(rows, words.telling),
        **_instead(words, rows, in_place),
        "until": words.day(planned.plan.window.to_on),
        "ordered_too": [row.ordered_too for row in rows if row.ordered_too],
        "not_sold": [row.name for row in rows if not row.is_sold],
        "to_words": words.day(planned.plan.window.to_on),
    }


def _instead(
    words: PageWords, rows: Iterable[ToBuy], in_place: Mapping[int, tuple[InPlace, ...]]
) -> Context:
    """Return what is said instead of buying, and of what nothing is noted."""
    ids = words.planned.kitchen.nodes.ids
    found = [
        RescueRow(
            item_id=ids[row.node],
            name=row.name,
            needed=row.needed,
            is_sold=row.is_sold,
            by=words.telling.on_day(row.by_on),
            without=row.without,
            smaller_batches=row.smaller_batches,
            in_place=in_place.get(row.node, ()),
        )
        for row in rows
    ]
    return {
        "instead": [row for row in found if row.is_worth_saying],
        "has_in_place": bool(in_place),
        "nothing_noted": [row for row in found if not row.in_place],
    }


def _row(words: PageWords, row: ToBuy, cakes: CakeFinder) -> dict[str, object]:
    named: CakeList = cakes.named(row.cakes)
    return {
        "item_id": words.planned.kitchen.nodes.ids[row.node],
        "buy": row.buy,
        "name": row.name,
        "by": words.day(row.by_on),
        "needed": row.needed,
        "cakes": named,
    }


def _summary(
    words: PageWords, rows: Sequence[ToBuy], cakes: int, retired: Sequence[str]
) -> str:
    if not rows and retired:
        return _("Whatever is watched can still come with a delivery.")
    if not rows:
        return _("Every cake can still be saved by a delivery.")
    items = ngettext("1 item", "{count} items", len(rows)).format(count=len(rows))
    saved = ngettext("1 cake", "{cakes} cakes", cakes).format(cakes=cakes)
    return _("One run for {items} by {day} saves {saved}.").format(
        items=items, day=words.day(rows[0].by_on), saved=saved
    )
