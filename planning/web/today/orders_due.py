"""Which suggested orders wait for a person, by their cut-off."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from planning.engine.kitchen import SupplierDay
from planning.engine.plan import SuggestedOrder
from planning.models import Order
from planning.orders.drafting import (
    is_a_persons,
    is_as_suggested,
    truck_of,
    waiting_by_truck,
)
from planning.plan.planner import Planned
from planning.web.page_words import PageWords, order_anchor

MOST_SHOWN = 3  # the next one, large, and two more


@dataclass(frozen=True, slots=True)
class OrderDue:
    """One suggested order; its lines and its fee are its cost."""

    supplier: str
    anchor: str  # where it stands on the Orders page
    order_id: int | None  # the order that waits for it, drafted or approved
    reference: str  # of that order; else blank
    to_do: str  # Order, Approve or Send
    order_by: str
    is_today: bool
    order_on: str  # the day of the cut-off
    is_closed_day: bool  # the bakery is closed on that day
    deliver_on: str
    line_count: int
    total_cost: Decimal


@dataclass(frozen=True, slots=True)
class OrdersDue:
    """The next orders by cut-off, and how many there are in all."""

    shown: Sequence[OrderDue]
    count: int


def orders_due(words: PageWords, orders: Iterable[SuggestedOrder]) -> OrdersDue:
    """Return the suggested orders whose cut-off comes first. Two queries at most."""
    by_moment = sorted(orders, key=lambda order: order.order_by)
    stored = waiting_by_truck()
    return OrdersDue(
        [
            _order_due(words, order, _brings_all(words.planned, order, stored))
            for order in by_moment[:MOST_SHOWN]
        ],
        len(by_moment),
    )


def _brings_all(
    planned: Planned, order: SuggestedOrder, stored: Mapping[SupplierDay, Order]
) -> Order | None:
    """Return the order that waits and brings all that is suggested, if one does."""
    found = stored.get(truck_of(planned, order))
    if found is None:
        return None
    if is_a_persons(found):
        return found if planned.waiting(order) is not None else None
    return found if is_as_suggested(found, order) else None


def _order_due(
    words: PageWords, order: SuggestedOrder, waiting: Order | None
) -> OrderDue:
    kitchen = words.planned.kitchen
    order_on = order.order_by.astimezone(words.planned.bakery.zone).date()
    return OrderDue(
        supplier=kitchen.suppliers[order.supplier].name,
        anchor=order_anchor(*truck_of(words.planned, order)),
        order_id=waiting.pk if waiting else None,
        reference=waiting.reference if waiting else "",
        to_do=_to_do(waiting),
        order_by=words.moment(order.order_by),
        is_today=order_on == words.today,
        order_on=words.brief_day(order_on),
        is_closed_day=kitchen.bakery.is_closed(order_on),
        deliver_on=words.brief_day(order.deliver_on),
        line_count=len(order.lines),
        total_cost=order.total_cost,
    )


def _to_do(waiting: Order | None) -> str:
    if waiting is None:
        return _("Order")
    return _("Send") if waiting.state == Order.State.APPROVED else _("Approve")
