"""Orders with all that a page or a file says of them, read at once."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet

from planning.exports.order_sheet import OrderSheet
from planning.models import Order, OrderLine, OrderStep
from planning.orders.order_sheets import stored_sheet
from planning.orders.orders import was_sent
from stock.models import Bakery


@dataclass(frozen=True, slots=True)
class BookedOrder:
    """A stored order, its lines by item, its steps so far, and its figures."""

    order: Order
    lines: Sequence[OrderLine]
    steps: Sequence[OrderStep]
    sheet: OrderSheet

    @property
    def last_step(self) -> OrderStep | None:
        """Who brought it into its state; None if it came in with a workbook.

        A delivery that was undone leaves its step behind the one that holds again.
        """
        state = self.order.state
        return next((step for step in self.steps[::-1] if step.state == state), None)

    @property
    def was_sent(self) -> bool:
        """Whether it ever left the house."""
        return was_sent(self.steps)

    @property
    def is_open(self) -> bool:
        """Whether it counts as on order."""
        return self.order.state in Order.OPEN_STATES

    @property
    def due_on(self) -> date:
        """The first day on which something of it is still due."""
        days = [line.due_on for line in self.lines if line.packs_to_come]
        return min(days, default=self.order.deliver_on)

    def is_overdue(self, today: date) -> bool:
        """Whether something of it should have come."""
        return self.is_open and self.due_on < today


def booked_orders(
    orders: QuerySet[Order] | Iterable[Order], *, bakery: Bakery
) -> list[BookedOrder]:
    """Return orders with their lines, steps and figures. Three queries.

    Given a queryset: it is read with its supplier and who changed it.
    """
    if isinstance(orders, QuerySet):
        orders = orders.select_related("supplier", "changed_by")
    found = list(orders)
    ids = [order.pk for order in found]
    lines = _by_order(
        OrderLine.objects.filter(order__in=ids).select_related("pack__item")
    )
    steps = _by_order(OrderStep.objects.filter(order__in=ids).select_related("by"))
    return [_booked(order, lines[order.pk], steps[order.pk], bakery) for order in found]


def booked_order(order: Order, *, bakery: Bakery) -> BookedOrder:
    """Return one order with its lines, steps and figures. Two queries."""
    return booked_orders([order], bakery=bakery)[0]


def _booked(
    order: Order, lines: list[OrderLine], steps: list[OrderStep], bakery: Bakery
) -> BookedOrder:
    by_item = sorted(
        lines, key=lambda line: (line.pack.item.name.casefold(), line.pack.label)
    )
    sheet = stored_sheet(order, by_item, bakery, steps=steps)
    return BookedOrder(order, by_item, steps, sheet)


def _by_order(rows: Iterable[Any]) -> defaultdict[int, list[Any]]:
    found: defaultdict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.order_id].append(row)
    return found
