"""Trace: where did it come from, what did it go into, and what is left?"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from planning.exports.trace_csv import trace_csv
from planning.tracing.finding import (
    FoundStart,
    StartRow,
    UnknownStartError,
    find_starts,
    start_row,
)
from planning.tracing.trace import Link, LinkKind, Start, StartKind, Trace, read_trace
from planning.web.tracing.tables import LinksTable, link_rows
from planning.wording.trace_words import (
    cake_words,
    reached_words,
    source_words,
    start_heading,
    start_words,
    trace_rows,
)
from stock.conversion.converters import converters_for
from stock.holding.wording import lot_words
from stock.measures.conversion import Converter
from stock.models import Lot
from stock.templatetags.words import full_day_words
from stock.web.amounts import Amount
from stock.wording.safe_text import file_stem

MOST_STEPS = 50  # in each direction, until all are asked for


@dataclass(frozen=True, slots=True)
class Named:
    """Something in words, its page, and how much of it."""

    words: str
    url: str
    amount: str = ""
    more: str = ""  # where it lies, or when it came
    is_held: bool = False


def search(request: HttpRequest) -> HttpResponse:
    """Ask what to trace; one answer leads to its page, several are listed."""
    asked = request.GET.get("what", "").strip()
    found: list[FoundStart] = []
    problem = ""
    if asked:
        try:
            found = find_starts(asked)
        except UnknownStartError as error:
            problem = str(error)
    if len(found) == 1:
        return redirect(_url(found[0].start))
    choices = [Named(start_words(each.row), _url(each.start)) for each in found]
    context = {"asked": asked, "choices": choices, "problem": problem}
    return render(request, "planning/trace_search.html", context)


def trace(request: HttpRequest, kind: str, row_id: int) -> HttpResponse:
    """Show everything that is recorded of where something came from and went."""
    row, found = _read(kind, row_id)
    show_all = request.GET.get("steps") == "all"
    return render(
        request, "planning/trace.html", _context(row, found, show_all=show_all)
    )


def trace_file(request: HttpRequest, kind: str, row_id: int) -> HttpResponse:
    """Return the same as CSV. It is the same whoever asks, and how."""
    del request
    row, found = _read(kind, row_id)
    stem = file_stem("trace", start_heading(row).removeprefix("Trace"))
    return HttpResponse(
        trace_csv(trace_rows(found)).encode(),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{stem}.csv"'},
    )


def _read(kind: str, row_id: int) -> tuple[StartRow, Trace]:
    if kind not in list(StartKind):
        raise Http404
    start = Start(StartKind(kind), row_id)
    row = start_row(start)
    if row is None:
        raise Http404
    return row, read_trace(start)


def _context(row: StartRow, found: Trace, *, show_all: bool) -> dict[str, Any]:
    today = timezone.localdate()
    links = [*found.back, *found.forward, *found.left]
    known = converters_for({link.lot.item_id for link in links}) if links else {}
    most = None if show_all else MOST_STEPS
    return {
        "heading": start_heading(row),
        "words": start_words(row),
        "is_cake": found.start.kind is StartKind.CAKE,
        "reached": reached_words(found),
        "cakes": [_cake(each) for each in found.cakes],
        "left": [_left(link, known) for link in found.left],
        "origins": [_origin(link, known, today) for link in _origins(found.back)],
        "steps": [
            (name, len(rows), LinksTable(link_rows(rows[:most], known), caption=name))
            for name, rows in ((_("Forward"), found.forward), (_("Back"), found.back))
            if rows
        ],
        "has_more": not show_all
        and max(len(found.back), len(found.forward)) > MOST_STEPS,
        "lot_url": reverse("stock:lot", args=[row.pk]) if isinstance(row, Lot) else "",
        "file_url": reverse(
            "planning:trace_file", args=[found.start.kind.value, found.start.row_id]
        ),
    }


def _cake(planned: Any) -> Named:
    url = reverse("planning:planned_cake", args=[planned.pk])
    return Named(cake_words(planned), url, more=planned.get_status_display())


def _left(link: Link, known: dict[int, Converter]) -> Named:
    amount = Amount(link.amount_base, known[link.lot.item_id])
    place = link.place.name if link.place else ""
    url = reverse("stock:lot", args=[link.lot.pk])
    return Named(lot_words(link.lot), url, amount.words, place, link.is_held)


def _origins(back: Sequence[Link]) -> list[Link]:
    kinds = (LinkKind.DELIVERED, LinkKind.FOUND)
    return [link for link in back if link.kind in kinds]


def _origin(link: Link, known: dict[int, Converter], today: date) -> Named:
    url = ""
    if link.delivery is not None:
        url = reverse("planning:order", args=[link.delivery.order_id])
    amount = Amount(link.amount_base, known[link.lot.item_id])
    day = full_day_words(link.on, today) if link.on else ""
    more = f"{lot_words(link.lot)}. {day}"
    return Named(source_words(link), url, amount.words, more)


def _url(start: Start) -> str:
    return reverse("planning:trace", args=[start.kind.value, start.row_id])
