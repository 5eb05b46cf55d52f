"""Making a sent revision the order: its lines, its day, its fee."""

from datetime import datetime

from planning.models import Answer, Order, OrderLine, Revision
from planning.orders.answers_held import forget_answer
from planning.orders.order_sheets import stored_sheet
from planning.orders.receiving import state_of
from stock.models import Bakery


def put_in_force(
    order: Order, revision: Revision, bakery: Bakery, at: datetime
) -> bool:
    """Write what a revision says onto its order; return whether the state changed.

    What was received stays; what is closed or a substitute stays as it is. A line
    whose day or packs change has no answer of the supplier's any more.
    """
    is_moved = revision.deliver_on != revision.was_deliver_on
    sent = {line.pack_id: line for line in order.lines.all()}
    answers = Answer.objects.filter(line__order=order, undone_at=None)
    held = {answer.line_id: answer for answer in answers}
    for said in revision.lines.all():
        line = sent.get(said.pack_id)
        if said.packs == 0:
            if line is not None:
                line.delete()
            continue
        if line is None:
            line = OrderLine(
                order=order, pack_id=said.pack_id, due_on=revision.deliver_on
            )
        is_other = said.packs != said.was_packs or is_moved
        if line.pk and is_other and (answer := held.get(line.pk)):
            forget_answer(line, answer, at)
        line.packs, line.price = said.packs, said.price
        if is_moved and line.packs_to_come:
            line.due_on = revision.deliver_on
        line.save()
    order.deliver_on, order.order_by = revision.deliver_on, revision.order_by
    order.note, order.revision = revision.note, revision.number
    lines = list(order.lines.select_related("pack__item"))
    order.fee = None
    order.fee = stored_sheet(order, lines, bakery).fee
    state, before = state_of(lines), order.state
    order.state = state
    return state != before
