"""The review of a count: what differs, what is to be decided, and then posting it."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from stock.counts.lines import LineKey
from stock.counts.review import Review, review
from stock.counts.walk import WalkLine
from stock.errors import StockError
from stock.models import Count, Place
from stock.templatetags.words import money
from stock.web.counts.devices import OpenDevice, devices_of
from stock.web.counts.lines import lot_words
from stock.web.counts.outcome import outcome_context
from stock.web.counts.review_rows import ReviewedItem
from stock.web.request.bakery_time import current_bakery

View = Callable[..., HttpResponse]
Step = Callable[[HttpRequest, int], str]


def count_review(request: HttpRequest, count_id: int) -> HttpResponse:
    """Show what differs before a count is posted, and what changed afterwards."""
    count = get_object_or_404(Count, pk=count_id)
    if count.state == Count.State.POSTED:
        context = outcome_context(count, current_bakery(request).currency)
        return render(request, "stock/count_outcome.html", context)
    seen = review(count_id)
    return render(request, "stock/count_review.html", _context(request, seen))


def _context(request: HttpRequest, seen: Review) -> dict[str, Any]:
    currency = current_bakery(request).currency
    devices = devices_of(seen.count.pk) if seen.count.is_live else []
    typed = _typed_by_line(devices)
    items = [ReviewedItem(row, currency, typed) for row in seen.rows]
    differing = [item for item in items if item.needs_a_look]
    return {
        "count": seen.count,
        "review": seen,
        "differing": differing,
        "agreeing": [item for item in items if item not in differing],
        "facts": [
            (_("Counted"), len(items), ngettext("item", "items", len(items))),
            (_("Variance"), money(seen.net_cost, currency), _("all in all")),
            (_("To decide"), seen.open_lines, _("two figures, or a question")),
            (_("Not counted"), len(seen.not_counted), _("left as on record")),
        ],
        "not_counted": _by_place(seen.not_counted),
        "devices": devices,
    }


def _typed_by_line(devices: Iterable[OpenDevice]) -> dict[LineKey, list[str]]:
    typed: dict[LineKey, list[str]] = defaultdict(list)
    for device in devices:
        for line, words in device.typed_by_line:
            typed[line].append(words)
    return typed


def _by_place(lines: Iterable[WalkLine]) -> list[tuple[Place, list[str]]]:
    by_place: dict[Place, list[str]] = defaultdict(list)
    for line in lines:
        dated = lot_words(line.key.use_by, line.key.lot_code)
        name = line.item.name
        by_place[line.place].append(f"{name}, {dated}" if dated else name)
    return list(by_place.items())


def a_step(job: Step) -> View:
    """Make a view of a job: a POST that does it, says so, and shows the review."""

    @require_POST
    @wraps(job)
    def step(request: HttpRequest, count_id: int) -> HttpResponse:
        get_object_or_404(Count, pk=count_id)
        try:
            messages.success(request, job(request, count_id))
        except StockError as error:
            messages.error(request, str(error))
        return redirect("stock:count_review", count_id)

    return step
