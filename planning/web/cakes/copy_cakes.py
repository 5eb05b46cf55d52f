"""Copying the cakes of some days: the last event, weekend or week once more."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from planning.bakeplan.copying import (
    copy_planned_cakes,
    newest_planned_cake,
    undo_copies,
)
from planning.models import PlannedCake
from planning.web.cakes.bake_week import WEEK, first_day_of_week
from planning.web.cakes.plan_changes import PlanChange
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError
from stock.entry.entries import EntryFaultsError
from stock.templatetags.words import full_day_words
from stock.web.request.bakery_time import current_bakery

LONGEST_ID = 18  # digits; more is no id of ours
MOST_DAYS = 31  # nobody checks the cakes of more days on one page


@dataclass(slots=True)
class Span:
    """The days to copy from, and the day that the first of them becomes."""

    first_on: date
    last_on: date
    to_on: date
    days_fault: str = ""
    onto_fault: str = ""

    @property
    def days_later(self) -> int:
        """How much later every copied cake is due."""
        return (self.to_on - self.first_on).days


def copy_cakes(request: HttpRequest) -> HttpResponse:
    """Show the cakes of some days, ticked; plan the ticked ones again."""
    span = _span(request)
    is_sent = request.method == "POST"
    chosen = sent_ids(request.POST.getlist("cake"))
    may_copy = is_sent and not span.days_fault and not span.onto_fault
    if may_copy and (copied := _copy(request, span, chosen)):
        return redirect(_week_url(span.to_on, copied))
    cakes = [] if span.days_fault else _cakes(span)
    context = {
        "span": span,
        "cakes": cakes,
        "chosen": chosen,
        "is_sent": is_sent,
        "newest": newest_planned_cake(),
    }
    return render(request, "planning/copy_cakes.html", context)


@require_POST
def cancel_copies(request: HttpRequest) -> HttpResponse:
    """Undo a copy: cancel the new cakes."""
    undone = undo_copies(sent_ids(request.POST.getlist("cake")))
    if undone.cancelled:
        messages.success(
            request,
            _("Cancelled again: {cancelled}.").format(
                cancelled=", ".join(undone.cancelled)
            ),
        )
    if undone.changed:
        names = ", ".join(undone.changed)
        messages.warning(
            request,
            _("Still planned, because changed since: {names}.").format(names=names),
        )
    day = _read(request.POST.get("week", ""))
    return redirect(_week_url(day or timezone.localdate(), []))


def _span(request: HttpRequest) -> Span:
    """Return the days that were asked for, or the week that was."""
    asked = request.POST if request.method == "POST" else request.GET
    today = timezone.localdate()
    starts = current_bakery(request).week_starts
    first_on = _read(asked.get("from", "")) or first_day_of_week(today - WEEK, starts)
    last_on = _read(asked.get("to", "")) or first_on + timedelta(days=6)
    usual_on = max(first_on + WEEK, first_day_of_week(today + WEEK, starts))
    to_on = _read(asked.get("onto", "")) or usual_on
    span = Span(first_on, last_on, to_on)
    if last_on < first_on:
        span.days_fault = _("The last day comes before the first. Turn them round.")
    elif (last_on - first_on).days >= MOST_DAYS:
        span.days_fault = _("Copy at most {most_days} days at once.").format(
            most_days=MOST_DAYS
        )
    elif request.method == "POST" and not _read(asked.get("onto", "")):
        span.onto_fault = _("Say which day the first of these days becomes.")
    return span


def _cakes(span: Span) -> list[PlannedCake]:
    return list(
        PlannedCake.objects.select_related("cake__item")
        .filter(due_on__gte=span.first_on, due_on__lte=span.last_on)
        .exclude(status=PlannedCake.Status.CANCELLED)
    )


def _copy(request: HttpRequest, span: Span, chosen: list[int]) -> list[int]:
    """Return the ids of the new cakes; none where something was refused."""
    if not chosen:
        span.onto_fault = _("Tick at least one cake to copy.")
        return []
    change = PlanChange(request, [span.last_on + timedelta(days=span.days_later)])
    try:
        seen_id = seen_cake(request.POST.get("newest", ""))
        copied = copy_planned_cakes(chosen, days_later=span.days_later, seen_id=seen_id)
    except EntryFaultsError as error:
        span.onto_fault = str(error)
        return []
    count = ngettext("{count} cake", "{count} cakes", len(copied)).format(
        count=len(copied)
    )
    day = full_day_words(span.to_on, change.today)
    change.tell(_("{count} planned again, from {day} on.").format(count=count, day=day))
    return copied


def sent_ids(texts: Iterable[str]) -> list[int]:
    """Return the ids among some texts that a browser sent.

    >>> sent_ids(["7", "x", "12"])
    [7, 12]
    """
    return [int(text) for text in texts if text.isdecimal() and len(text) <= LONGEST_ID]


def seen_cake(text: str) -> int:
    """Return the newest cake that a page says it knew; 0 where it says none.

    >>> seen_cake("12"), seen_cake("x")
    (12, 0)
    """
    return next(iter(sent_ids([text])), 0)


def _read(text: str) -> date | None:
    try:
        return Day().parse(text) if text.strip() else None
    except CellError:
        return None


def _week_url(day: date, copied: list[int]) -> str:
    url = f"{reverse('planning:bake_plan')}?week={day.isoformat()}"
    return f"{url}&copied={','.join(map(str, copied))}" if copied else url
