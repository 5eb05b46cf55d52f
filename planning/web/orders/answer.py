"""The supplier's answer: what will it bring of an order?"""

import re
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from planning.errors import AnswerError, PlanningError
from planning.models import Answer, OrderLine
from planning.orders.answering import Said, answer_order
from planning.orders.order_book import BookedOrder
from planning.orders.orders import MOST_PACKS, Hand
from planning.web.orders.answers_said import held_answers
from planning.web.orders.order import hand_of, more_packs, refused
from planning.web.orders.receive import booked_for
from planning.wording.delivery_words import packs_of_line
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError, WholeNumber, is_blank
from stock.models import Bakery, Pack
from stock.web.forms.entry_fields import AS_TYPED, CellField, DateInput, NumberInput
from stock.web.request.bakery_time import current_bakery
from stock.web.request.row_ids import sent_id

PACK_COUNT, DATE = WholeNumber(most=MOST_PACKS), Day()


class AnswerLineForm(forms.Form):
    """What the supplier says of one line."""

    use_required_attribute = False

    def __init__(
        self,
        line: OrderLine,
        held: Answer | None,
        more: Sequence[Pack],
        data: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, prefix=f"line_{line.pk}")
        self.line, self.is_answered = line, held is not None
        self.what = packs_of_line(line, line.packs)
        self.fields["kind"] = CellField(
            label=_("Answer"),
            required=False,
            initial=held.kind if held else "",
            widget=forms.Select(choices=[("", _("Not said")), *Answer.Kind.choices]),
        )
        self.fields["packs"] = CellField(
            label=_("Packs it brings"),
            required=False,
            initial=held.packs if held else None,
            widget=NumberInput({**AS_TYPED, "inputmode": "numeric"}),
        )
        self.fields["due_on"] = CellField(
            label=_("New day"),
            required=False,
            initial=held.due_on if held else None,
            widget=DateInput,
        )
        choices = [
            (str(pack.pk), f"{pack.item.name}: {pack.label}")
            for pack in [*more, *([held.pack] if held and held.pack else [])]
        ]
        self.fields["pack_id"] = CellField(
            label=_("Substitute"),
            required=False,
            initial=held.pack_id if held else None,
            widget=forms.Select(choices=[("", _("None")), *choices]),
        )

    @property
    def has_more(self) -> bool:
        """Whether something is entered, or wrong, beside the answer itself."""
        return any(
            self[name].value() or self[name].errors
            for name in ("packs", "due_on", "pack_id")
        )

    def read(self) -> Said:
        """Return what was typed; what cannot be read is said at its field."""
        self.is_valid()
        return Said(
            self.line.pk,
            kind=str(self["kind"].data or ""),
            packs=self._read("packs", PACK_COUNT),
            due_on=self._read("due_on", DATE),
            pack_id=self._read("pack_id", WholeNumber()),
        )

    def _read(self, name: str, kind: Any) -> Any:
        text = self[name].data
        if is_blank(text):
            return None
        try:
            return kind.parse(text)
        except CellError as error:
            self.add_error(name, str(error))
        return None


def answer(request: HttpRequest, order_id: int) -> HttpResponse:
    """Take what the supplier says of each line; show what it has said."""
    booked = booked_for(request, order_id)
    if not booked.is_open:
        if request.method == "POST":
            hand = hand_of(request, order_id)
            return _keep(request, booked, [], hand, current_bakery(request))
        return redirect("planning:order", order_id)
    data = request.POST if request.method == "POST" else None
    forms_ = _forms(booked, data)
    if data is not None:
        hand = hand_of(request, order_id)
        return _keep(request, booked, forms_, hand, current_bakery(request))
    return _page(request, booked, forms_)


def _forms(booked: BookedOrder, data: Mapping[str, Any] | None) -> list[AnswerLineForm]:
    held = {each.line_id: each for each in held_answers(booked.order)}
    more = more_packs(booked)
    return [
        AnswerLineForm(line, held.get(line.pk), more, data)
        for line in booked.lines
        if line.packs_to_come and line.stands_for_id is None
    ]


def _keep(
    request: HttpRequest,
    booked: BookedOrder,
    shown: list[AnswerLineForm],
    hand: Hand,
    bakery: Bakery,
) -> HttpResponse:
    order = booked.order
    said = [form.read() for form in shown if form["kind"].html_name in form.data]
    said += _said_of_others(request, {form.line.pk for form in shown})
    if "all" in request.POST:
        said = [
            Said(form.line.pk, Answer.Kind.CONFIRMED)
            for form in shown
            if not form.is_answered
        ]
    elif any(form.errors for form in shown):
        return _page(request, booked, shown)
    try:
        answer_order(hand, said, bakery=bakery)
    except AnswerError as error:
        for form in shown:
            if form.line.pk == error.line_id:
                form.add_error(error.field, str(error))
        return _page(request, booked, shown)
    except PlanningError as error:
        return refused(request, order.pk, error)
    messages.success(request, _("The answer to {order} is saved.").format(order=order))
    return redirect("planning:order", order.pk)


def _said_of_others(request: HttpRequest, shown: Collection[int]) -> list[Said]:
    """Return what a page says of lines of which nothing is to come any more."""
    named = {name: re.fullmatch(r"line_(\d+)-kind", name) for name in request.POST}
    ids = {name: sent_id(found[1]) for name, found in named.items() if found}
    return [
        Said(line_id, kind=request.POST[name])
        for name, line_id in ids.items()
        if line_id is not None and line_id not in shown and request.POST[name]
    ]


def _page(
    request: HttpRequest, booked: BookedOrder, shown: list[AnswerLineForm]
) -> HttpResponse:
    context = {"order": booked.order, "forms": shown, "booked": booked}
    return render(request, "planning/answer.html", context)
