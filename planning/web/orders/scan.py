"""A label scanned at the door: its line is found, and one pack of it has come.

Each label that is sure is saved at once, as a visit of one pack: nothing waits on a
page that may get lost. What is not sure opens its line with all that is.
"""

from dataclasses import dataclass, replace
from datetime import date
from hashlib import sha256

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.errors import DeliveryFaultsError, PlanningError
from planning.models import Delivery, DeliveryLine, OrderLine
from planning.orders.delivery_checks import CameLine
from planning.orders.order_book import BookedOrder
from planning.orders.orders import state_words
from planning.orders.receiving import receive_delivery
from planning.web.orders.order import hand_of, refused
from planning.web.orders.receive import (
    booked_for,
    door_page,
    faulty_forms,
    page_key,
    received_on,
)
from planning.web.orders.receive_forms import ReceiveLineForm
from planning.web.orders.scan_words import (
    already_here_words,
    choose_words,
    found_words,
    not_ordered_words,
    scanned_words,
    tied_words,
    undone_words,
)
from stock.errors import StockError
from stock.labels.reading import Label, joined, read_label
from stock.labels.tying import packs_of_bar_code, tie_bar_code
from stock.labels.wording import doubts_words
from stock.web.request.bakery_time import current_bakery
from stock.web.request.row_ids import sent_id

KEY_DIGITS = 12


@dataclass(frozen=True, slots=True)
class Scan:
    """What was scanned: the last text, with the one that waited for it if they fit."""

    text: str
    earlier: str
    label: Label

    @property
    def waiting(self) -> str:
        """What the next bar code of the same case may complete."""
        return self.text or self.earlier


@require_POST
def scan(request: HttpRequest, order_id: int) -> HttpResponse:
    """Take one pack of the line that a label is of, or say what is to be done."""
    booked = booked_for(request, order_id)
    if not booked.is_open:
        sentence = _("{order} is {state}. The case is not recorded.")
        said = sentence.format(order=booked.order, state=state_words(booked.order))
        messages.error(request, said)
        return redirect("planning:order", order_id)
    read = _read(request)
    if not read.waiting:
        return door_page(request, booked, scan={"words": _("Scan a label first.")})
    label = read.label
    if label.is_empty:
        return door_page(
            request, booked, scan={"words": doubts_words(label), "text": read.text}
        )
    if (line := _chosen(request, booked)) is not None:
        _tie(request, line, label)
    elif not label.gtin:
        return _ask(request, booked, read)
    else:
        line = _line_of(booked, label.gtin)
    if line is None:
        return _not_found(request, booked, read)
    return _came(request, booked, line, read)


def _read(request: HttpRequest) -> Scan:
    """Return what was scanned; two bar codes of one case are read as one label."""
    today = timezone.localdate()
    text, earlier = request.POST.get("label", ""), request.POST.get("earlier", "")
    if not text.strip():
        return Scan("", earlier, read_label(earlier, today=today))
    label = read_label(text, today=today)
    before = read_label(earlier, today=today) if earlier else Label()
    # Sure parts of both; the doubts of the first were said when it was scanned.
    both = None if label.is_empty else joined(replace(before, doubts=()), label)
    if both is None or both == label:
        return Scan(text, "", label)
    return Scan(text, earlier, both)


def _chosen(request: HttpRequest, booked: BookedOrder) -> OrderLine | None:
    line_id = sent_id(request.POST.get("line"))
    return next((line for line in booked.lines if line.pk == line_id), None)


def _line_of(booked: BookedOrder, gtin: str) -> OrderLine | None:
    """Return the line of a bar code, one that is still to come before the others."""
    packs = {
        pack.pk for pack in packs_of_bar_code(gtin, (row.pack for row in booked.lines))
    }
    found = [line for line in booked.lines if line.pack_id in packs]
    return min(found, key=lambda line: not line.packs_to_come, default=None)


def _tie(request: HttpRequest, line: OrderLine, label: Label) -> None:
    if not label.gtin:
        return
    try:
        pack = tie_bar_code(line.pack_id, label.gtin)
    except StockError as error:
        messages.info(request, str(error))
    else:
        if not line.pack.gtin:
            messages.success(request, tied_words(pack))


def _not_found(request: HttpRequest, booked: BookedOrder, read: Scan) -> HttpResponse:
    known = packs_of_bar_code(read.label.gtin)
    if not known:
        return _ask(request, booked, read)
    words = not_ordered_words(known[0], booked.order.supplier)
    return door_page(request, booked, scan={"words": words})


def _ask(request: HttpRequest, booked: BookedOrder, read: Scan) -> HttpResponse:
    """Ask which line a label is of; another bar code of the case may say it too."""
    return door_page(
        request,
        booked,
        scan={
            "words": choose_words(read.label),
            "waiting": read.waiting,
            "lines": [line for line in booked.lines if line.packs_to_come],
        },
    )


def _came(
    request: HttpRequest, booked: BookedOrder, line: OrderLine, read: Scan
) -> HttpResponse:
    label, key = read.label, _key_of(request, read, line)
    is_repeat = Delivery.objects.filter(key=key).exists()
    if not (line.packs_to_come or is_repeat):
        return door_page(request, booked, scan={"words": already_here_words(line)})
    if label.doubts or not (label.lot or label.last_day):
        form = ReceiveLineForm(line, received_on(request), scanned=_initial(label))
        context = {"words": found_words(line, label), "waiting": read.waiting}
        return door_page(request, booked, scan=context, opened=form)
    return _take_one(request, booked, line, label, key, is_repeat=is_repeat)


def _take_one(
    request: HttpRequest,
    booked: BookedOrder,
    line: OrderLine,
    label: Label,
    key: str,
    *,
    is_repeat: bool,
) -> HttpResponse:
    """Save one pack of a line, with the lot and the date of its label."""
    on = received_on(request)
    # A label adds to whatever is stored by now, so that two hands can scan at once.
    hand = replace(hand_of(request, booked.order.pk), version=booked.order.version)
    came = CameLine(line.pk, 1, use_by=label.last_day, lot_code=label.lot)
    try:
        delivery = receive_delivery(
            hand, [came], key=key, bakery=current_bakery(request), received_on=on
        )
    except DeliveryFaultsError as error:
        form = _form_of(line, on, label)
        forms = faulty_forms(request, booked, form, error)
        return door_page(request, booked, *forms)
    except PlanningError as error:
        return refused(request, booked.order.pk, error)
    row = delivery.lines.select_related("line__pack__item", "lot").get()
    if delivery.undone_at is not None:
        messages.info(request, undone_words(row))
        return _onward(request, delivery, row)
    messages.success(request, scanned_words(row, label, is_repeat=is_repeat))
    return _onward(request, delivery, row)


def _onward(
    request: HttpRequest, delivery: Delivery, row: DeliveryLine
) -> HttpResponse:
    """Go on to the next label, with the rest of this lot a tap away."""
    if not booked_for(request, delivery.order_id).is_open:
        return redirect("planning:order", delivery.order_id)
    address = reverse("planning:receive_order", args=[delivery.order_id])
    query = f"?scanned={row.pk}"
    if delivery.received_on != timezone.localdate():
        query += f"&on={delivery.received_on.isoformat()}"
    return redirect(f"{address}{query}")


def _key_of(request: HttpRequest, read: Scan, line: OrderLine) -> str:
    """Return the key of one label on one page: sent twice from it, it counts once."""
    said = "\n".join([read.earlier, read.text, str(line.pk)])
    return f"{page_key(request)[:60]}-{sha256(said.encode()).hexdigest()[:KEY_DIGITS]}"


def _initial(label: Label) -> dict[str, object]:
    """Return what a label fills in of its line's form."""
    filled: dict[str, object] = {"lot_code": label.lot} if label.lot else {}
    if label.last_day:
        filled["use_by"] = label.last_day.isoformat()
    return filled


def _form_of(line: OrderLine, on: date, label: Label) -> ReceiveLineForm:
    """Return a line's form as if the label had been typed into it."""
    shown = ReceiveLineForm(line, on, scanned=_initial(label) | {"packs": 1})
    data = {shown.add_prefix(name): said for name, said in shown.initial.items()}
    form = ReceiveLineForm(line, on, data)
    form.is_valid()
    return form
