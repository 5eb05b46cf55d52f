"""Your calendar: the address that a person's own calendar reads, and what it reads."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from planning.errors import PlanningError
from planning.exports.calendar_file import CalendarEvent, calendar_file
from planning.feeds.addresses import (
    feed_of,
    make_address,
    reader_of,
    remove_address,
)
from planning.feeds.coming import coming_events
from planning.plan.planner import make_plan
from planning.search.searching import as_chosen
from stock.errors import StockError
from stock.models import Bakery
from stock.web.forms.entry_conflicts import seen_version
from stock.web.request.bakery_time import current_bakery

MEDIA_TYPE = "text/calendar; charset=utf-8"
NEW_ADDRESS = gettext_lazy("Your address is ready. An older one no longer works.")


def calendar(request: HttpRequest) -> HttpResponse:
    """Show a person's calendar address, or offer to make one."""
    feed = feed_of(_person_id(request))
    address = _address(request, feed.secret) if feed else ""
    context = {
        "feed": feed,
        "address": address,
        # webcals where pages come by https: the secret never goes in the clear.
        "open_address": f"webcal{address.removeprefix('http')}",
        "today": timezone.localdate(),
    }
    return render(request, "planning/calendar.html", context)


@require_POST
def make(request: HttpRequest) -> HttpResponse:
    """Give the person a new address."""
    return _step(request, make_address, str(NEW_ADDRESS), at=timezone.now())


@require_POST
def remove(request: HttpRequest) -> HttpResponse:
    """Stop the person's address from working."""
    return _step(request, remove_address, _("Your calendar address no longer works."))


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest) -> HttpResponse:
    """Return the calendar to whoever knows a person's secret.

    The secret stands behind the question mark, which the log leaves out.
    """
    if reader_of(request.GET.get("key", "")) is None:
        raise Http404
    bakery, now = current_bakery(request), timezone.now()
    events = _events(request, bakery)
    content = calendar_file(
        bakery.name, events, host=request.get_host(), written_at=now
    )
    return HttpResponse(content, content_type=MEDIA_TYPE)


def _events(request: HttpRequest, bakery: Bakery) -> list[CalendarEvent]:
    """Return what is coming; where no plan can be made, that too."""

    def link(name: str, *args: int) -> str:
        return request.build_absolute_uri(reverse(f"planning:{name}", args=args))

    today = timezone.localdate()
    try:
        planned = as_chosen(make_plan(bakery=bakery, as_of=timezone.now()))
    except (PlanningError, StockError) as error:
        unplanned = CalendarEvent(
            key="no-plan",
            title=_("Cut-offs missing: no plan could be made"),
            starts=today,
            details=str(error),
            link=link("today"),
        )
        return [unplanned, *coming_events(bakery, None, today=today, link=link)]
    return coming_events(bakery, planned, today=today, link=link)


def _step(
    request: HttpRequest, job: Callable[..., object], said: str, **more: Any
) -> HttpResponse:
    try:
        job(_person_id(request), seen=seen_version(request.POST), **more)
    except StockError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, said)
    return redirect("planning:calendar")


def _person_id(request: HttpRequest) -> int:
    """Return who is signed in; nobody else comes this far."""
    return int(request.user.pk or 0)


def _address(request: HttpRequest, secret: str) -> str:
    path = reverse("planning:calendar_feed")
    return request.build_absolute_uri(f"{path}?key={secret}")
