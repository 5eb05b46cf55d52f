"""Ticket: what is this cake, and what does it contain from the labels entered?"""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.errors import PlanningError
from planning.models import CakeTicket, PlannedCake
from planning.tickets.printing import (
    changed_since,
    contains_text,
    newest_ticket,
    note_ticket,
)
from planning.tracing.contents import CakeContents, cake_contents
from planning.web.cakes.cake_words import due_time_words, size_of
from stock.errors import StockError
from stock.templatetags.words import moment_words
from stock.web.forms.entry_conflicts import seen_version
from stock.wording.names import person_name


def ticket(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Show the ticket of a planned cake, ready to print."""
    rows = PlannedCake.objects.select_related("cake__item")
    planned = get_object_or_404(rows, pk=planned_id)
    contents = cake_contents(planned)
    printed = newest_ticket(planned_id)
    context = {
        "planned": planned,
        "due_clock": due_time_words(planned.due_time),
        "size": size_of(planned),
        "contents": contents,
        "shown": contains_text(contents),
        **(_printed(printed, contents) if printed else {}),
    }
    return render(request, "planning/ticket.html", context)


@require_POST
def print_ticket(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Note what the ticket says now, and go back to it."""
    get_object_or_404(PlannedCake, pk=planned_id)
    try:
        note_ticket(
            planned_id,
            shown=request.POST.get("shown", ""),
            seen=seen_version(request.POST),
            by_id=request.user.pk,
        )
    except (PlanningError, StockError) as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("Noted. Changes from now on show here."))
    return redirect("planning:ticket", planned_id)


def _printed(printed: CakeTicket, contents: CakeContents) -> dict[str, Any]:
    """Return when it was printed last and by whom, and what has changed since."""
    when = moment_words(printed.printed_at, timezone.localdate())
    who = person_name(printed.printed_by)
    change = changed_since(printed, contents)
    return {
        "printed": f"{when}, {who}" if who else when,
        "added": ", ".join(change.added),
        "left_out": ", ".join(change.left_out),
    }
