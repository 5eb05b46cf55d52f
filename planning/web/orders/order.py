"""One order: what does it ask for, why, and may it go out?"""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.errors import (
    NoSuchOrderError,
    OrderQuestionsError,
    PlanningError,
    WentError,
)
from planning.exports.order_message import order_message
from planning.models import Order
from planning.orders.going_out import is_day_over
from planning.orders.order_book import BookedOrder, booked_order
from planning.orders.orders import (
    Hand,
    approve_order,
    cancel_order,
    return_to_draft,
    send_order,
)
from planning.orders.proposed import open_revision_of
from planning.orders.shown_packs import packs_shown
from planning.orders.went import How, Went, send_so
from planning.web.orders.answers_said import (
    all_answers,
    answer_moments,
    held_words,
)
from planning.web.orders.order_checks import order_cautions, order_questions
from planning.web.orders.order_deliveries import (
    delivery_rows,
    undone_moments,
    visits,
)
from planning.web.orders.order_files import download_files, mail_url
from planning.web.orders.order_forms import OrderLinesForm
from planning.web.orders.order_tables import OrderLinesTable, stored_rows
from planning.web.orders.order_words import (
    deliver_words,
    due_words,
    history_words,
    order_by_words,
    reasons_words,
    step_words,
    sum_facts,
)
from planning.web.showing import Context
from stock.models import Pack
from stock.web.forms.entry_forms import posted
from stock.web.request.bakery_time import current_bakery
from stock.web.request.row_ids import sent_id

State = Order.State


def order(request: HttpRequest, order_id: int) -> HttpResponse:
    """Show an order with its figures; of a draft, keep how many packs it asks for."""
    if request.method == "POST" and not Order.objects.filter(pk=order_id).exists():
        return refused(request, order_id, NoSuchOrderError())
    booked = _booked(request, order_id)
    form = None
    if booked.order.state == State.DRAFT or request.method == "POST":
        form = OrderLinesForm(booked, more_packs(booked), posted(request))
    if form is not None and form.is_bound:
        try:
            if form.save(hand_of(request, order_id)):
                messages.success(
                    request,
                    _("{reference} is saved.").format(reference=booked.order.reference),
                )
                return redirect("planning:order", order_id)
        except PlanningError as error:
            return refused(request, order_id, error)
    return render(request, "planning/order.html", _context(request, booked, form))


def approve(request: HttpRequest, order_id: int) -> HttpResponse:
    """Say that a draft may go out; review what speaks against it."""
    if request.method == "POST":
        said = _("{} is approved and can be sent.")
        return step(request, order_id, _with_answers(request, approve_order), said)
    booked = _booked(request, order_id)
    context = _context(request, booked)
    if booked.order.state != State.DRAFT or not context["questions"]:
        return redirect("planning:order", order_id)
    return render(request, "planning/order_approve.html", context)


@require_POST
def back_to_draft(request: HttpRequest, order_id: int) -> HttpResponse:
    """Undo an approval, or bring a dropped draft back."""
    return step(request, order_id, return_to_draft, _("{} is a draft again."))


def send(request: HttpRequest, order_id: int) -> HttpResponse:
    """Review an approved order; note that it has gone out."""
    if request.method == "POST":
        said = _("{} is sent. It counts as on order from now on.")
        job = _with_answers(request, send_order)
        went = went_of(request)
        return step(request, order_id, lambda hand: send_so(hand, went, job), said)
    booked = _booked(request, order_id)
    if booked.order.state != State.APPROVED:
        return redirect("planning:order", order_id)
    return render(request, "planning/order_send.html", _context(request, booked))


def cancel(request: HttpRequest, order_id: int) -> HttpResponse:
    """Review what cancelling means; cancel."""
    booked = _booked(request, order_id)
    told = (
        _(" Tell {name} if nobody has.").format(name=booked.order.supplier.name)
        * booked.was_sent
    )
    if request.method == "POST":
        return step(
            request,
            order_id,
            cancel_order,
            _("{{}} is cancelled.{told}").format(told=told),
        )
    if booked.order.state in Order.PAST_STATES:
        return redirect("planning:order", order_id)
    return render(request, "planning/order_cancel.html", _context(request, booked))


def step(
    request: HttpRequest, order_id: int, job: Callable[[Hand], Order], said: str
) -> HttpResponse:
    """Take an order one step on, and say what happened."""
    try:
        row = job(hand_of(request, order_id))
    except OrderQuestionsError:
        return redirect(request.path)  # its review says what is asked
    except WentError as error:
        messages.error(request, str(error))
        return redirect(request.path)
    except PlanningError as error:
        return refused(request, order_id, error)
    messages.success(request, said.format(row.reference))
    return redirect("planning:order", order_id)


def went_of(request: HttpRequest) -> Went:
    """Return how an order went, as its page sends it."""
    return Went(request.POST.get("how", ""), request.POST.get("taken_by", ""))


def _with_answers(
    request: HttpRequest, job: Callable[[Hand, list[str], str | None], Order]
) -> Callable[[Hand], Order]:
    """Return a step that knows what its page has asked, and which packs it showed."""
    answered, shown = request.POST.getlist("answered"), request.POST.get("packs")
    return lambda hand: job(hand, answered, shown)


def refused(request: HttpRequest, order_id: int, error: PlanningError) -> HttpResponse:
    """Say why nothing was done, on the page that shows the order as it is now."""
    messages.error(request, str(error))
    if isinstance(error, NoSuchOrderError):
        return redirect("planning:orders")
    return redirect("planning:order", order_id)


def hand_of(request: HttpRequest, order_id: int) -> Hand:
    """Return who acts on which version of an order; none is older than any."""
    seen = sent_id(request.POST.get("version")) or 0
    return Hand(order_id, seen, at=timezone.now(), by_id=request.user.pk)


def _booked(request: HttpRequest, order_id: int) -> BookedOrder:
    rows = Order.objects.select_related("supplier", "changed_by")
    row = get_object_or_404(rows, pk=order_id)
    return booked_order(row, bakery=current_bakery(request))


def more_packs(booked: BookedOrder) -> list[Pack]:
    """Return what the supplier sells and the order does not ask for. One query."""
    on_it = [line.pack_id for line in booked.lines]
    rows = Pack.objects.filter(supplier=booked.order.supplier, retired=False)
    rows = rows.exclude(pk__in=on_it).exclude(item__retired=True)
    return list(rows.select_related("item").order_by("item__name", "label"))


def _lines_table(booked: BookedOrder, form: OrderLinesForm | None) -> OrderLinesTable:
    row, currency = booked.order, booked.sheet.currency
    fields = form.field_by_pack() if form is not None else None
    caption = _("Order {reference} to {name}, prices in {currency}.").format(
        reference=row.reference, name=row.supplier.name, currency=currency
    )
    return OrderLinesTable(
        stored_rows(booked, fields), caption=caption, currency=currency
    )


def _context(
    request: HttpRequest, booked: BookedOrder, form: OrderLinesForm | None = None
) -> Context:
    now = timezone.now()
    today, row, sheet = timezone.localdate(now), booked.order, booked.sheet
    is_unsent = row.state in Order.UNSENT_STATES
    bakery = current_bakery(request)
    cautions = order_cautions(booked, bakery, now=now)
    questions = order_questions(booked, bakery, now=now)
    answers = all_answers(row) if booked.was_sent else []
    deliveries = []
    if booked.was_sent:
        deliveries = delivery_rows(row, today, now=now, bakery=bakery)
    return {
        "booked": booked,
        "order": row,
        "form": form,
        "table": _lines_table(booked, form),
        "facts": sum_facts(booked),
        "reasons_words": reasons_words(booked, today),
        "deliver_words": deliver_words(row.deliver_on, today),
        "order_by_words": order_by_words(row.order_by, now=now, today=today),
        "step_words": step_words(booked, today),
        "due_words": due_words(booked, today) if booked.is_open else "",
        "is_overdue": booked.is_overdue(today),
        "cautions": cautions if is_unsent else [],
        "questions": questions,
        "packs_shown": packs_shown(booked.lines) if is_unsent else "",
        "is_day_over": is_day_over(row, at=now, bakery=bakery),
        "today": today.isoformat(),
        "ways": How.choices,
        "message_text": order_message(sheet),
        "mail_url": mail_url(booked),
        "answers": held_words(booked, answers),
        "history": history_words(
            booked,
            today,
            answer_moments(booked, answers, today),
            told=undone_moments(deliveries),
        ),
        "files": download_files(row),
        "open_revision": booked.is_open and open_revision_of(row),
        "visits": visits(deliveries, today),
    }
