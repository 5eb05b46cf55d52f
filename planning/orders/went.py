"""How an order went to its supplier, as whoever sent it says."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from django.db import transaction
from django.utils.translation import gettext as _

from planning.errors import WentError
from planning.models import Order, OrderStep
from planning.orders.orders import Hand
from stock.entry.cells import CellError, Name, is_blank

How = OrderStep.How
Sent = TypeVar("Sent")
TAKEN_BY = Name(max_length=120)


@dataclass(frozen=True, slots=True)
class Went:
    """By mail, as a message or phoned in; on the phone, who took it."""

    how: str = ""  # blank: nobody said
    taken_by: str = ""


def checked(went: Went) -> Went:
    """Return how it went, as it is stored; refuse what cannot be."""
    if went.how and went.how not in How.values:
        raise WentError(_("Choose how it went."))
    if is_blank(went.taken_by):
        if went.how == How.PHONE:
            raise WentError(_("Say who took the order on the phone."))
        return Went(went.how)
    if went.how != How.PHONE:
        raise WentError(_("Only a phoned order is taken by somebody: choose Phone."))
    try:
        return Went(went.how, TAKEN_BY.parse(" ".join(went.taken_by.split())))
    except CellError as error:
        raise WentError(_("Taken by: {why}").format(why=error)) from error


@transaction.atomic
def send_so(hand: Hand, went: Went, send: Callable[[Hand], Sent]) -> Sent:
    """Send an order, or a revision of it, and note how it went; return it.

    Where it was sent already, what was noted then stays.
    """
    went = checked(went)
    sent = send(hand)
    steps = OrderStep.objects.filter(order=hand.order_id, state=Order.State.SENT)
    step = steps.last()
    if step is not None and not step.how and went.how:
        step.how, step.taken_by = went.how, went.taken_by
        step.save(update_fields=["how", "taken_by"])
    return sent
