"""Shortfalls: what will be missing, and for which cakes?

What could take the place of what no delivery saves, in a sentence each.
"""

from collections.abc import Iterable
from typing import Any

import django_tables2 as tables
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.plan import Shortfall, ShortfallKind
from planning.plan.planner import Planned
from planning.sentences.words import capitalized
from planning.web.page_words import PageWords
from planning.web.shelf.shelf_days import ShelfLine
from planning.web.shelf.shelf_line import draw
from planning.web.shortfalls.plan_choice import (
    EVERY_KIND,
    PlanChoice,
    ShortfallChoiceForm,
)
from planning.web.shortfalls.shortfall_rows import ShortfallRow, shortfall_rows
from planning.web.showing import Context, show
from planning.wording.rescue import find_lost_items
from planning.wording.substitutes import find, in_brief
from stock.web.request.bakery_time import current_bakery


def in_place_sentences(planned: Planned) -> list[str]:
    """Return what the shelves hold of noted substitutes. One query."""
    return in_brief(planned, find(planned, find_lost_items(planned)))


HEADINGS = {
    ShortfallKind.OUT: gettext_lazy("Runs out"),
    ShortfallKind.BELOW_SAFETY: gettext_lazy("Falls below safety"),
    ShortfallKind.BELOW_PAR: gettext_lazy("Falls below par"),
}
ALL_OF_THEM = {
    ShortfallKind.OUT: gettext_lazy("All {count} that run out"),
    ShortfallKind.BELOW_SAFETY: gettext_lazy("All {count} below safety"),
    ShortfallKind.BELOW_PAR: gettext_lazy("All {count} below par"),
}
# So many rows of a kind stand on the page of all kinds: what is short is its subject.
MOST_SHOWN = {
    ShortfallKind.OUT: 8,
    ShortfallKind.BELOW_SAFETY: 3,
    ShortfallKind.BELOW_PAR: 3,
}
WORDS = {"attrs": {"td": {"class": "words"}}}


class ShortfallTable(tables.Table):
    """Shortfalls of one kind, the first to come first."""

    item_name = tables.Column(gettext_lazy("Item"))
    sentence = tables.TemplateColumn(
        template_name="planning/shortfall_sentence.html",
        verbose_name=gettext_lazy("What happens"),
        **WORDS,
    )
    remedy = tables.Column(gettext_lazy("What still saves it"), **WORDS)
    cakes = tables.TemplateColumn(
        template_name="planning/shortfall_cakes.html",
        verbose_name=gettext_lazy("Cakes"),
        **WORDS,
    )
    line = tables.Column(
        gettext_lazy("On the shelf"), attrs={"td": {"class": "picture"}}
    )

    class Meta:
        orderable = False
        attrs = {"class": "shortfall-rows"}

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
    by_kind = {
        kind: [row for row in plan.shortfalls if row.kind is kind]
        for kind in HEADINGS
        if choice.kind in (EVERY_KIND, kind.value)
    }
    shown = [row for found in by_kind.values() for row in _shown(choice, found)]
    rows = shortfall_rows(words, shown)
    sections = [
        _section(words, choice, found, [row for row in rows if row.kind is kind])
        for kind, found in by_kind.items()
        if found
    ]
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


def _shown(choice: PlanChoice, found: list[Shortfall]) -> list[Shortfall]:
    """Return the first of one kind; all where only that kind is asked for."""
    if choice.kind != EVERY_KIND or not found:
        return found
    return found[: MOST_SHOWN[found[0].kind]]


def _section(
    words: PageWords,
    choice: PlanChoice,
    found: list[Shortfall],
    rows: list[ShortfallRow],
) -> dict[str, Any]:
    """Return what is said of one kind: its table, and the way to what it leaves out."""
    window, kind = words.planned.plan.window, found[0].kind
    caption = _(
        "{headings}, {day} to {day2}, as of {moment}, before suggested orders."
    ).format(
        headings=HEADINGS[kind],
        day=words.day(window.from_on),
        day2=words.day(window.to_on),
        moment=words.moment(window.as_of),
    )
    lost = words.planned.ways_out.lost
    is_all = len(rows) == len(found)
    return {
        "heading": f"{HEADINGS[kind]}: {len(found)}",
        "table": ShortfallTable(rows, caption=caption, query=choice.query),
        "has_lost": any(row.node in lost for row in found),
        "all_url": "" if is_all else choice.url_of(kind),
        "all_words": ALL_OF_THEM[kind].format(count=len(found)),
    }


def _summary(words: PageWords, kinds: list[ShortfallKind]) -> str:
    """Return the page in one sentence."""
    until = words.day(words.planned.plan.window.to_on)
    if not kinds:
        return _("Nothing runs short up to {until}.").format(until=until)
    verbs = {
        ShortfallKind.OUT: (_("runs out"), _("run out")),
        ShortfallKind.BELOW_SAFETY: (_("falls below safety"), _("fall below safety")),
        ShortfallKind.BELOW_PAR: (_("falls below par"), _("fall below par")),
    }
    parts = [
        f"{count} {verbs[kind][count != 1]}"
        for kind in HEADINGS
        if (count := kinds.count(kind))
    ]
    return _("Up to {until}: {parts}.").format(until=until, parts=", ".join(parts))
