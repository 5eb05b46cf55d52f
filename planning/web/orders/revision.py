"""Revise: what should an order that was sent say instead?"""

from collections.abc import Callable
from functools import partial

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST

from planning.errors import OrderQuestionsError, PlanningError
from planning.exports.order_message import order_message
from planning.models import Order, Revision
from planning.orders.going_out import is_day_over
from planning.orders.order_book import BookedOrder, booked_order
from planning.orders.orders import Hand
from planning.orders.proposed import kept, open_revision_of, proposed_book
from planning.orders.revising import (
    approve_revision,
    discard_revision,
    is_changing,
    open_revision,
    return_revision,
    send_revision,
)
from planning.orders.shown_packs import packs_shown
from planning.orders.went import How, send_so
from planning.web.orders.order import hand_of, more_packs, refused, went_of
from planning.web.orders.order_checks import order_cautions, order_questions
from planning.web.orders.order_files import (
    FORMATS,
    file_response,
    mail_url,
    revision_files,
)
from planning.web.orders.order_forms import RevisionForm
from planning.web.orders.order_tables import OrderLinesTable, stored_rows
from planning.web.orders.order_words import deliver_words, order_by_words, sum_facts
from planning.web.showing import Context
from stock.web.forms.entry_forms import posted
from stock.web.request.bakery_time import current_bakery

State = Revision.State
Job = Callable[..., Revision]


@require_POST
def revise(request: HttpRequest, order_id: int) -> HttpResponse:
    """Open a revision of an order that was sent, or go on with the open one."""
    try:
        open_revision(hand_of(request, order_id), bakery=current_bakery(request))
    except PlanningError as error:
        return refused(request, order_id, error)
    return redirect("planning:revision", order_id)


def revision(request: HttpRequest, order_id: int) -> HttpResponse:
    """Show the open revision beside what was sent; keep what is typed."""
    found = _found(request, order_id)
    if found is None:
        if request.method == "POST":
            sentence = _("That revision is no longer open. Nothing is saved.")
            messages.error(request, sentence)
        return redirect("planning:order", order_id)
    row, sent, booked = found
    form = None
    if row.state == State.DRAFT or request.method == "POST":
        bakery = current_bakery(request)
        form = RevisionForm(booked, more_packs(booked), posted(request), bakery=bakery)
    if form is not None and form.is_bound:
        try:
            if form.save(hand_of(request, order_id)):
                said = _("Revision {number} is saved.").format(number=row.number)
                messages.success(request, said)
                return redirect("planning:revision", order_id)
        except PlanningError as error:
            messages.error(request, str(error))
            return redirect("planning:revision", order_id)
    context = _context(request, row, sent, booked, form)
    return render(request, "planning/revision.html", context)


@require_POST
def approve(request: HttpRequest, order_id: int) -> HttpResponse:
    """Say that the revision may go out."""
    return _step(request, order_id, _answering(request, approve_revision))


@require_POST
def back_to_draft(request: HttpRequest, order_id: int) -> HttpResponse:
    """Take the approval of the revision back."""
    return _step(request, order_id, return_revision)


@require_POST
def send(request: HttpRequest, order_id: int) -> HttpResponse:
    """Note that the revision has gone out: it is on order from now on."""
    job, went = _answering(request, send_revision), went_of(request)
    return _step(
        request,
        order_id,
        lambda hand, **given: send_so(hand, went, partial(job, **given)),
    )


@require_POST
def discard(request: HttpRequest, order_id: int) -> HttpResponse:
    """Discard the revision; what was sent stays on order."""
    return _step(request, order_id, discard_revision)


def revision_file(request: HttpRequest, order_id: int, ending: str) -> HttpResponse:
    """Return the open revision as a file to send."""
    found = _found(request, order_id)
    if found is None or ending not in FORMATS:
        raise Http404
    return file_response(found[2].sheet, ending)


STEP_SAID = {
    State.DRAFT: gettext_lazy("Revision {number} is a draft again."),
    State.APPROVED: gettext_lazy("Revision {number} is approved and can be sent."),
    State.SENT: gettext_lazy("Revision {number} is sent. It is on order from now on."),
    State.CANCELLED: gettext_lazy(
        "Revision {number} is discarded. What was sent stays."
    ),
}


def _step(request: HttpRequest, order_id: int, job: Job) -> HttpResponse:
    try:
        row = job(hand_of(request, order_id), bakery=current_bakery(request))
    except OrderQuestionsError:
        return redirect("planning:revision", order_id)  # the page says what is asked
    except PlanningError as error:
        refused(request, order_id, error)
        return redirect("planning:revision", order_id)
    messages.success(request, STEP_SAID[State(row.state)].format(number=row.number))
    is_open = row.state in Revision.OPEN_STATES
    return redirect("planning:revision" if is_open else "planning:order", order_id)


def _answering(request: HttpRequest, job: Job) -> Job:
    def answered(hand: Hand, **given: object) -> Revision:
        shown = request.POST.get("packs")
        return job(hand, request.POST.getlist("answered"), shown, **given)

    return answered


def _found(
    request: HttpRequest, order_id: int
) -> tuple[Revision, BookedOrder, BookedOrder] | None:
    """Return the open revision, what was sent, and what it would be."""
    rows = Order.objects.select_related("supplier", "changed_by")
    order = get_object_or_404(rows, pk=order_id)
    row = open_revision_of(order)
    if row is None:
        return None
    bakery = current_bakery(request)
    sent = booked_order(order, bakery=bakery)
    return row, sent, proposed_book(sent, row, bakery=bakery)


def _context(
    request: HttpRequest,
    row: Revision,
    sent: BookedOrder,
    booked: BookedOrder,
    form: RevisionForm | None,
) -> Context:
    now, bakery = timezone.now(), current_bakery(request)
    today, order = timezone.localdate(now), booked.order
    fields = form.field_by_pack() if form is not None else None
    is_open = sent.is_open
    return {
        "revision": row,
        "order": order,
        "form": form,
        "is_open": is_open,
        "is_changing": is_changing(sent.order, row),
        "is_moved": row.deliver_on != row.was_deliver_on,
        "was_deliver_words": deliver_words(row.was_deliver_on, today),
        "table": OrderLinesTable(
            stored_rows(booked, fields),
            caption=_("Revision {number} of {order}, prices in {currency}.").format(
                number=row.number,
                order=order.reference,
                currency=booked.sheet.currency,
            ),
            currency=booked.sheet.currency,
        ),
        "facts": sum_facts(booked),
        "deliver_words": deliver_words(row.deliver_on, today),
        "order_by_words": order_by_words(row.order_by, now=now, today=today),
        "cautions": order_cautions(booked, bakery, now=now) if is_open else [],
        "questions": order_questions(booked, bakery, now=now) if is_open else [],
        "packs_shown": packs_shown(kept(booked.lines)),
        "is_day_over": is_day_over(order, at=now, bakery=bakery),
        "message_text": order_message(booked.sheet),
        "mail_url": mail_url(booked),
        "files": revision_files(order),
        "ways": How.choices,
    }
