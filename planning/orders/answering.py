"""What the supplier answers to an order that was sent, line by line.

The plan counts what was confirmed: short lowers it, refused takes it out, later moves
it, a substitute comes in its place. The order's state stays as it is.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from planning.errors import AnswerError, DeliveryDayError, OrderPackError
from planning.models import Answer, Order, OrderLine
from planning.orders.answers_held import forget_answer
from planning.orders.new_day import check_day
from planning.orders.orders import Hand, check_pack, check_version, locked_order
from planning.orders.own_changes import is_own_change
from planning.orders.receiving import state_error
from planning.plan.order_terms import terms_of_pack
from stock.models import Bakery, Pack

Kind = Answer.Kind


@dataclass(frozen=True, slots=True)
class Said:
    """What a supplier says of one line; a blank kind: nothing, or not any more."""

    line_id: int
    kind: str = ""
    packs: int | None = None  # of a short line, of a substitute
    due_on: date | None = None
    pack_id: int | None = None  # the substitute


@transaction.atomic
def answer_order(hand: Hand, said: Sequence[Said], *, bakery: Bakery) -> Order:
    """Note what a supplier answers, all or nothing; the same again changes nothing.

    A new answer to a line takes the place of the one before.
    """
    order = locked_order(hand)
    lines = {line.pk: line for line in order.lines.select_related("pack__item")}
    held = {
        answer.line_id: answer
        for answer in Answer.objects.filter(line__order=order, undone_at=None)
    }
    changes = [each for each in said if not _is_held(each, held.get(each.line_id))]
    if not changes and is_own_change(order, hand.version, hand.by_id):
        return order
    check_version(order, hand)
    if order.state not in Order.OPEN_STATES:
        raise state_error(order, _("answered"))
    if not changes:
        return order
    for each in changes:
        line = lines.get(each.line_id)
        if line is None:
            continue
        if not line.packs_to_come or line.stands_for_id:
            raise AnswerError(line.pk, "kind", _("Nothing of it is to come any more."))
        if each.line_id in held:
            forget_answer(line, held[each.line_id], hand.at)
        if each.kind:
            _write(line, each, hand, bakery)
    order.version += 1
    order.changed_at, order.changed_by_id = hand.at, hand.by_id
    order.save()
    return order


def _is_held(said: Said, held: Answer | None) -> bool:
    if held is None:
        return not said.kind
    stored = Said(held.line_id, held.kind, held.packs, held.due_on, held.pack_id)
    return stored == said


def _write(line: OrderLine, said: Said, hand: Hand, bakery: Bakery) -> None:
    if said.kind not in Kind.values:
        raise AnswerError(line.pk, "kind", _("Choose one of the list."))
    if said.due_on is not None:
        _check_day(line, said.due_on, hand.at, bakery)
    WRITERS[Kind(said.kind)](line, said)
    Answer.objects.create(
        line=line,
        kind=said.kind,
        packs=said.packs,
        pack_id=said.pack_id,
        due_on=said.due_on,
        was_due_on=_day_before(line, said),
        at=hand.at,
        by_id=hand.by_id,
    )
    line.save()


def _check_day(line: OrderLine, due_on: date, at: datetime, bakery: Bakery) -> None:
    try:
        check_day(due_on, at, bakery)
    except DeliveryDayError as error:
        raise AnswerError(line.pk, "due_on", str(error)) from error


def _day_before(line: OrderLine, said: Said) -> date:
    before = line.due_on
    if said.due_on is not None:
        line.due_on = said.due_on
    return before


def _confirmed(line: OrderLine, said: Said) -> None:
    _refuse_extra(line, said)
    line.expected_packs = line.packs


def _refused(line: OrderLine, said: Said) -> None:
    _refuse_extra(line, said)
    line.expected_packs = line.received_packs


def _short(line: OrderLine, said: Said) -> None:
    _refuse_extra(line, said, packs=True)
    least = max(line.received_packs, 1)
    if said.packs is None or not least <= said.packs < line.packs:
        sentence = _("Enter from {least} to {most} packs, or choose another answer.")
        words = sentence.format(least=least, most=f"{line.packs - 1:,}")
        raise AnswerError(line.pk, "packs", words)
    line.expected_packs = said.packs


def _later(line: OrderLine, said: Said) -> None:
    _refuse_extra(line, said, due_on=True)
    if said.due_on is None:
        raise AnswerError(line.pk, "due_on", _("Enter the day on which it comes."))
    line.expected_packs = line.packs


def _substituted(line: OrderLine, said: Said) -> None:
    """Expect a line of the substitute instead, at its price of that day."""
    _refuse_extra(line, said, packs=True, pack_id=True)
    order = line.order
    pack = Pack.objects.select_related("item").filter(pk=said.pack_id or 0).first()
    if pack is None:
        raise AnswerError(line.pk, "pack_id", _("Choose what comes instead."))
    if order.lines.filter(pack=pack).exists():
        sentence = _("{pack} of {item} is on this order already. Choose another.")
        words = sentence.format(pack=pack.label, item=pack.item.name)
        raise AnswerError(line.pk, "pack_id", words)
    if not said.packs:
        raise AnswerError(line.pk, "packs", _("Enter how many packs come instead."))
    try:
        check_pack(order, pack, said.packs, is_new=True)
    except OrderPackError as error:
        raise AnswerError(line.pk, "pack_id", str(error)) from error
    line.expected_packs = line.received_packs
    terms = terms_of_pack(pack).on(line.due_on)
    OrderLine.objects.create(
        order=order,
        pack=pack,
        packs=said.packs,
        price=terms.price_at(said.packs),
        due_on=line.due_on,
        stands_for=line,
    )


WRITERS = {
    Kind.CONFIRMED: _confirmed,
    Kind.SHORT: _short,
    Kind.SUBSTITUTED: _substituted,
    Kind.REFUSED: _refused,
    Kind.LATER: _later,
}


def _refuse_extra(line: OrderLine, said: Said, **takes: bool) -> None:
    """Refuse what an answer has no use for, as it would be lost."""
    given: Mapping[str, object] = {
        "packs": said.packs,
        "due_on": said.due_on,
        "pack_id": said.pack_id,
    }
    for field, value in given.items():
        if value is not None and field not in takes:
            sentence = _("This answer takes none. Leave it blank, or choose another.")
            raise AnswerError(line.pk, field, sentence)
