"""All items by day: when does each get low?"""

from collections.abc import Iterable, Mapping
from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.web.page_words import PageWords
from planning.web.shelf.shelf_days import ShelfDay, ShelfLines
from planning.web.shortfalls.page import ahead_link
from planning.web.shortfalls.plan_choice import PlanChoice
from planning.web.showing import Context, show
from stock.templatetags.words import full_day_words
from stock.web.request.bakery_time import current_bakery


class DaysTable(tables.Table):
    """A row an item, a column a day: what is left when the day is over."""

    item = tables.Column(gettext_lazy("Item"))

    class Meta:
        orderable = False
        attrs = {"class": "across"}
        empty_text = gettext_lazy("No items yet.")

    def __init__(
        self, rows: Iterable[Mapping[str, Any]], *, headings: list[str], caption: str
    ) -> None:
        columns = [
            (f"day_{number}", tables.Column(heading))
            for number, heading in enumerate(headings)
        ]
        super().__init__(rows, extra_columns=columns)
        self.caption = caption


def days_ahead(request: HttpRequest) -> HttpResponse:
    """Show what is left of every item at the end of every day."""
    choice = PlanChoice.from_address(request.GET, current_bakery(request))
    return show(
        request, "planning/days_ahead.html", lambda: _days_ahead(choice), choice=choice
    )


def _days_ahead(choice: PlanChoice) -> Context:
    words = PageWords(choice.plan(as_of=timezone.now()), timezone.localdate())
    plan, nodes = words.planned.plan, words.planned.kitchen.nodes
    lines = ShelfLines(words.planned)
    rows = [
        {
            "item": ahead_link(
                nodes.ids[node], nodes.names[node], f"{choice.query}#days"
            ),
            **_cells(words, node, lines),
        }
        for node in plan.projection.nodes
    ]
    caption = _(
        "What is left of each item when the day is over, said without "
        "packs, as of {moment}. Stock and open orders count; suggested "
        "orders do not. Tap an item for what comes and goes each day."
    ).format(moment=words.moment(plan.window.as_of))
    headings = [full_day_words(day, words.today) for day in plan.projection.days]
    return {"table": DaysTable(rows, headings=headings, caption=caption)}


def _cells(words: PageWords, node: int, lines: ShelfLines) -> dict[str, SafeString]:
    """Return an item's cells; what does not change is put into words once."""
    line = lines.line(node)
    lacks = lines.lacks_base(node)
    said: dict[object, SafeString] = {}
    cells = {}
    for number, (day, lack_base) in enumerate(zip(line.days, lacks, strict=True)):
        key = day.closing_base, lack_base, day.below_safety, day.below_par
        if key not in said:
            said[key] = _cell(words, node, day, lack_base)
        cells[f"day_{number}"] = said[key]
    return cells


def _cell(words: PageWords, node: int, day: ShelfDay, lack_base: float) -> SafeString:
    if day.is_short:
        lack = words.gap(node, lack_base)
        short = _("{amount} short").format(amount=lack.words)
        return format_html('<div class="state state-short">{}</div>', short)
    left = words.gap(node, float(day.closing_base))  # days compare without packs
    if day.below_safety:
        low = _("{amount} left, below safety").format(amount=left.words)
        return format_html('<div class="state state-low">{}</div>', low)
    return format_html("{}{}", left.words, _(", below par") if day.below_par else "")
