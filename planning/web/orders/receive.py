"""Receive: what came of an order, at the door, in one tap or line by line."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.errors import DeliveryFaultsError, PlanningError
from planning.models import DeliveryLine, Order, OrderLine
from planning.orders.delivery_checks import CameLine
from planning.orders.new_day import set_new_day
from planning.orders.order_book import BookedOrder, booked_order
from planning.orders.receiving import Rest, receive_delivery
from planning.orders.undoing_deliveries import undo_delivery
from planning.web.orders.order import hand_of, refused
from planning.web.orders.order_words import deliver_words, total_words
from planning.web.orders.receive_forms import ReceiveLineForm
from planning.wording.delivery_words import packs_of_line, received_words
from stock.calendar.calendar_words import date_words
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError, is_blank
from stock.templatetags.words import day_words
from stock.web.request.bakery_time import current_bakery
from stock.web.request.row_ids import sent_id

DATE = Day()
KEY = re.compile(r"[0-9a-z-]{1,80}")


@dataclass(frozen=True, slots=True)
class ReceiveRow:
    """One line at the door: what is to come of it, or what became of it."""

    line: OrderLine
    packs_words: str
    use_by_words: str
    needs_words: str
    done_words: str  # blank while something is still to come
    came_words: str  # what of it came on this day; blank if nobody has looked at it
    form: ReceiveLineForm


def receive(request: HttpRequest, order_id: int) -> HttpResponse:
    """Show an order at the door; take all that is still to come of it."""
    booked = booked_for(request, order_id)
    if request.method == "POST":
        looked_at = [CameLine(pk, 0) for pk in _looked_at(booked, received_on(request))]
        return _take(request, booked, looked_at, rest=Rest.AS_ORDERED)
    if not booked.is_open:
        return redirect("planning:order", order_id)
    return door_page(request, booked)


@require_POST
def receive_line(request: HttpRequest, order_id: int, line_id: int) -> HttpResponse:
    """Take what came of one line; what is wrong stands beside its field."""
    booked = booked_for(request, order_id)
    line = next((line for line in booked.lines if line.pk == line_id), None)
    if line is None:
        return redirect("planning:order", order_id)
    form = ReceiveLineForm(line, received_on(request), request.POST)
    came = form.read()
    if came is None:
        return door_page(request, booked, form)
    return _take(request, booked, [came], form)


@require_POST
def close_order(request: HttpRequest, order_id: int) -> HttpResponse:
    """Say that nothing more of an order will come."""
    booked = booked_for(request, order_id)
    return _take(request, booked, rest=Rest.CLOSED)


@require_POST
def undo(request: HttpRequest, order_id: int, delivery_id: int) -> HttpResponse:
    """Take back a delivery of today."""
    try:
        delivery = undo_delivery(
            hand_of(request, order_id), delivery_id, bakery=current_bakery(request)
        )
    except PlanningError as error:
        return refused(request, order_id, error)
    reference = delivery.order.reference
    messages.success(
        request,
        _("{reference}: undone. It is still to come.").format(reference=reference),
    )
    return redirect("planning:order", order_id)


@require_POST
def new_day(request: HttpRequest, order_id: int) -> HttpResponse:
    """Say on which day a late order comes, or for which day a draft is now."""
    bakery = current_bakery(request)
    try:
        due_on = DATE.parse(request.POST.get("due_on", ""))
        order = set_new_day(hand_of(request, order_id), due_on, bakery=bakery)
    except CellError as error:
        messages.error(request, _("New day: {error}").format(error=error))
        return redirect("planning:receive_order", order_id)
    except PlanningError as error:
        return refused(request, order_id, error)
    today = timezone.localdate()
    if order.state == Order.State.DRAFT:
        said, day = _("{reference} is for {day} now."), day_words(due_on, today)
    else:
        said, day = _("{reference} comes {day} now."), deliver_words(due_on, today)
    messages.success(request, said.format(reference=order.reference, day=day))
    return redirect("planning:order", order_id)


def _take(
    request: HttpRequest,
    booked: BookedOrder,
    came: Sequence[CameLine] = (),
    form: ReceiveLineForm | None = None,
    *,
    rest: Rest = Rest.STAYS,
) -> HttpResponse:
    try:
        delivery = receive_delivery(
            hand_of(request, booked.order.pk),
            came,
            key=page_key(request),
            bakery=current_bakery(request),
            rest=rest,
            received_on=received_on(request),
        )
    except DeliveryFaultsError as error:
        return door_page(request, booked, *faulty_forms(request, booked, form, error))
    except PlanningError as error:
        return refused(request, booked.order.pk, error)
    if delivery.undone_at is not None:
        sentence = _(
            "{order}: this was received and undone since. Nothing else was done."
        )
        messages.info(request, sentence.format(order=delivery.order))
        return redirect("planning:order", booked.order.pk)
    messages.success(request, received_words(delivery))
    is_open = delivery.order.state in Order.OPEN_STATES
    page = "planning:receive_order" if is_open and form else "planning:order"
    return redirect(page, booked.order.pk)


def faulty_forms(
    request: HttpRequest,
    booked: BookedOrder,
    form: ReceiveLineForm | None,
    error: DeliveryFaultsError,
) -> list[ReceiveLineForm]:
    """Return the forms of the lines that were refused, with the reasons."""
    line_by_id = {line.pk: line for line in booked.lines}
    forms = {form.line.pk: form} if form else {}
    for fault in error.faults:
        if fault.line_id not in forms:
            line, on = line_by_id[fault.line_id], received_on(request)
            shown = ReceiveLineForm(line, on)
            data = {shown.add_prefix(key): said for key, said in shown.initial.items()}
            forms[fault.line_id] = ReceiveLineForm(line, on, data)
            forms[fault.line_id].is_valid()
        forms[fault.line_id].refuse(fault)
    return list(forms.values())


def page_key(request: HttpRequest) -> str:
    """Return the page's own key, so that two taps count once; a new one without."""
    key = request.POST.get("key", "")
    return key if KEY.fullmatch(key) else str(uuid4())


def received_on(request: HttpRequest) -> date:
    """Return the day on which it came: today, unless another was chosen."""
    text = request.POST.get("on") or request.GET.get("on")
    if is_blank(text):
        return timezone.localdate()
    try:
        return DATE.parse(text)
    except CellError:
        return timezone.localdate()


def _looked_at(booked: BookedOrder, on: date) -> dict[int, int]:
    """Return how many packs of which lines were received on a day, by line. One query.

    What is still to come of them did not come with the rest of that day.
    """
    rows = DeliveryLine.objects.filter(
        delivery__order=booked.order,
        delivery__undone_at=None,
        delivery__received_on=on,
    ).order_by()
    found: dict[int, int] = {}
    for line_id, packs in rows.values_list("line_id", "packs"):
        found[line_id] = found.get(line_id, 0) + packs
    return found


def booked_for(request: HttpRequest, order_id: int) -> BookedOrder:
    """Return the order that the door is opened for, as it is now."""
    rows = Order.objects.select_related("supplier", "changed_by")
    row = get_object_or_404(rows, pk=order_id)
    return booked_order(row, bakery=current_bakery(request))


def door_page(
    request: HttpRequest,
    booked: BookedOrder,
    *faulty: ReceiveLineForm,
    scan: Mapping[str, Any] | None = None,
    opened: ReceiveLineForm | None = None,
) -> HttpResponse:
    """Show an order at the door, with what was scanned and the forms to look at."""
    today, on = timezone.localdate(), received_on(request)
    to_open = opened or _rest_of_lot(request, booked, on)
    form_by_line = {form.line.pk: form for form in faulty}
    if to_open is not None:
        form_by_line.setdefault(to_open.line.pk, to_open)
    rows = _rows(booked, on, form_by_line)
    to_do = [row for row in rows if not (row.done_words or row.came_words)]
    context = {
        "booked": booked,
        "order": booked.order,
        "rows": rows,
        "done_count": len(rows) - len(to_do),
        "to_do": to_do,
        "faulty_count": len(faulty),
        "total_words": total_words(booked),
        "due_words": day_words(booked.due_on, today),
        "is_confirmed_less": any(
            line.packs_expected < line.packs_to_come for line in booked.lines
        ),
        "is_overdue": booked.is_overdue(today),
        "key": uuid4(),
        "on": on.isoformat(),
        "on_words": day_words(on, today),
        "is_earlier": on != today,
        "today": today.isoformat(),
        "scan": scan,
        "expects_label": scan is not None or "scanned" in request.GET,
    }
    return render(request, "planning/receive.html", context)


def _rest_of_lot(
    request: HttpRequest, booked: BookedOrder, on: date
) -> ReceiveLineForm | None:
    """Return the form of the line whose label was just scanned, for more of its lot.

    One query after a scan, none else.
    """
    row_id = sent_id(request.GET.get("scanned"))
    if row_id is None:
        return None
    rows = DeliveryLine.objects.filter(
        delivery__order=booked.order, delivery__undone_at=None
    )
    row = rows.select_related("lot").filter(pk=row_id).first()
    line = next((one for one in booked.lines if row and one.pk == row.line_id), None)
    if row is None or row.lot is None or line is None or not line.packs_to_come:
        return None
    scanned = {"lot_code": row.lot.code}
    if row.lot.use_by:
        scanned["use_by"] = row.lot.use_by.isoformat()
    return ReceiveLineForm(line, on, scanned=scanned)


def _rows(
    booked: BookedOrder, on: date, form_by_line: Mapping[int, ReceiveLineForm]
) -> list[ReceiveRow]:
    """Return a row for each line, with its form; one that lacks a form gets a new."""
    came = _looked_at(booked, on)
    return [
        _row(
            line,
            form_by_line.get(line.pk) or ReceiveLineForm(line, on),
            on,
            came.get(line.pk),
        )
        for line in booked.lines
    ]


def _row(
    line: OrderLine, form: ReceiveLineForm, on: date, came: int | None
) -> ReceiveRow:
    item, use_by = line.pack.item, form.default_use_by
    needs = ""
    if item.minimum_days_left:
        first = on + timedelta(days=item.minimum_days_left - 1)
        needs = _("Accept use by {date} or later.").format(date=date_words(first))
    return ReceiveRow(
        line,
        packs_of_line(line, line.packs_expected if line.packs_to_come else line.packs),
        _("use by {date}").format(date=date_words(use_by)) if use_by else "",
        needs,
        _done_words(line),
        ""
        if came is None
        else _("{packs_of_line} came, the rest is to come").format(
            packs_of_line=packs_of_line(line, came)
        ),
        form,
    )


def _done_words(line: OrderLine) -> str:
    if line.packs_to_come:
        return ""
    came = packs_of_line(line, line.received_packs)
    if line.closed:
        return _("{came} of {packs:,} came, the rest is closed").format(
            came=came, packs=line.packs
        )
    return _("{came} came").format(came=came)
