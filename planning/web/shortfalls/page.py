"""Shortfalls: what will be missing, and for which cakes?"""

from collections.abc import Iterable
from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from planning.engine.plan import ShortfallKind
from planning.sentences.words import capitalized
from planning.web.page_words import PageWords
from planning.web.shelf.shelf_days import ShelfLine
from planning.web.shelf.shelf_line import draw
from planning.web.shortfalls.in_place import in_place_sentences
from planning.web.shortfalls.plan_choice import (
    EVERY_KIND,
    PlanChoice,
    ShortfallChoiceForm,
)
from planning.web.shortfalls.shortfall_rows import ShortfallRow, shortfall_rows
from planning.web.showing import Context, show
from stock.web.request.bakery_time import current_bakery

HEADINGS = {
    ShortfallKind.OUT: "Runs out",
    ShortfallKind.BELOW_SAFETY: "Falls below safety",
    ShortfallKind.BELOW_PAR: "Falls below par",
}
WORDS = {"attrs": {"td": {"class": "words"}}}


class ShortfallTable(tables.Table):
    """Shortfalls of one kind, the first to come first."""

    item_name = tables.Column("Item")
    sentence = tables.TemplateColumn(
        template_name="planning/shortfall_sentence.html",
        verbose_name="What happens",
        **WORDS,
    )
    remedy = tables.Column("What still saves it", **WORDS)
    cakes = tables.TemplateColumn(
        template_name="planning/shortfall_cakes.html", verbose_name="Cakes", **WORDS
    )
    line = tables.Column("On the shelf", attrs={"td": {"class": "picture"}})

    class Meta:
        orderable = False

    def __init__(
        self, rows: Iterable[ShortfallRow], *, caption: str, query: str
    ) -> None:
        super().__init__(rows)
        self.caption = caption
        self.query = query

    def render_item_name(self, record: ShortfallRow) -> SafeString:
        """Return the name; it leads to the item's days."""
        return ahead_link(record.item_id, record.item_name, self.query)

    def render_line(self, value: ShelfLine) -> SafeString:
        """Return the picture of the days."""
        return draw(value, "row")


def shortfalls(request: HttpRequest) -> HttpResponse:
    """Show everything that will be short, by how grave it is."""
    choice = PlanChoice.from_address(
        request.GET, current_bakery(request), ShortfallChoiceForm
    )
    return show(
        request, "planning/shortfalls.html", lambda: _shortfalls(choice), choice=choice
    )


def ahead_link(item_id: int, name: str, query: str) -> SafeString:
    """Return an item's name as a link to its days.

    `query` may end in the part of the page that is meant: `#days`.
    """
    return format_html(
        '<a href="{}{}">{}</a>',
        reverse("planning:ahead", args=[item_id]),
        query,
        capitalized(name),
    )


def _shortfalls(choice: PlanChoice) -> Context:
    words = PageWords(choice.plan(as_of=timezone.now()), timezone.localdate())
    plan = words.planned.plan
    rows = shortfall_rows(
        words,
        [row for row in plan.shortfalls if choice.kind in (EVERY_KIND, row.kind.value)],
    )
    kinds = [kind for kind in HEADINGS if any(row.kind is kind for row in rows)]
    sections = [_section(words, choice, kind, rows) for kind in kinds]
    has_lost = any(section["has_lost"] for section in sections)
    return {
        "sections": sections,
        "in_place": in_place_sentences(words.planned) if has_lost else [],
        "summary": _summary(words, [row.kind for row in plan.shortfalls]),
        "has_items": bool(plan.projection.nodes),
        "is_short": bool(plan.shortfalls),
        "to_words": words.day(plan.window.to_on),
        "notes": words.planned.warnings,
    }


def _section(
    words: PageWords, choice: PlanChoice, kind: ShortfallKind, rows: list[ShortfallRow]
) -> dict[str, Any]:
    window = words.planned.plan.window
    caption = (
        f"{HEADINGS[kind]}, {words.day(window.from_on)} to {words.day(window.to_on)}, "
        f"as of {words.moment(window.as_of)}. Stock and open orders count; "
        f"suggested orders do not. Tap a sentence for what its figure is made of."
    )
    shown = [row for row in rows if row.kind is kind]
    table = ShortfallTable(shown, caption=caption, query=choice.query)
    return {
        "heading": f"{HEADINGS[kind]}: {len(shown)}",
        "table": table,
        "has_lost": any(row.is_lost for row in shown),
    }


def _summary(words: PageWords, kinds: list[ShortfallKind]) -> str:
    """Return the page in one sentence."""
    until = words.day(words.planned.plan.window.to_on)
    if not kinds:
        return f"Nothing runs short up to {until}."
    verbs = {
        ShortfallKind.OUT: ("runs out", "run out"),
        ShortfallKind.BELOW_SAFETY: ("falls below safety", "fall below safety"),
        ShortfallKind.BELOW_PAR: ("falls below par", "fall below par"),
    }
    parts = [
        f"{count} {verbs[kind][count != 1]}"
        for kind in HEADINGS
        if (count := kinds.count(kind))
    ]
    return f"Up to {until}: {', '.join(parts)}."
