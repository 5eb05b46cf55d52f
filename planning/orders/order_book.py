"""Orders with all that a page or a file says of them, read at once."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from django.db.models import QuerySet

from planning.engine.costing import NOTHING
from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from planning.models import Order, OrderLine, OrderStep, Revision, RevisionLine
from planning.orders.order_sheets import stored_sheet
from planning.orders.orders import was_sent
from planning.plan.order_terms import terms_of_pack
from planning.sentences.order_changes import changed_packs, replaced_words
from stock.models import Bakery


@dataclass(frozen=True, slots=True)
class BookedOrder:
    """A stored order, its lines by item, its steps so far, and its figures."""

    order: Order
    lines: Sequence[OrderLine]
    steps: Sequence[OrderStep]
    sheet: OrderSheet
    changes: Sequence[RevisionLine] = ()  # of the revision that it shows

    @property
    def last_step(self) -> OrderStep | None:
        """Who brought it into its state; None if it came in with a workbook.

        A delivery that was undone leaves its step behind the one that holds again.
        """
        state = self.order.state
        return next((step for step in self.steps[::-1] if step.state == state), None)

    @property
    def change_by_pack(self) -> dict[int, str]:
        """What the revision that it shows changed of each line, in words."""
        return {change.pack_id: _change_words(change) for change in self.changes}

    @property
    def was_sent(self) -> bool:
        """Whether it ever left the house."""
        return was_sent(self.steps)

    @property
    def is_open(self) -> bool:
        """Whether it counts as on order."""
        return self.order.state in Order.OPEN_STATES

    @property
    def has_received(self) -> bool:
        """Whether something of it came."""
        return any(line.received_packs for line in self.lines)

    @property
    def due_on(self) -> date:
        """The first day on which something of it is still due."""
        days = [line.due_on for line in self.lines if line.packs_expected]
        return min(days, default=self.order.deliver_on)

    def is_overdue(self, today: date) -> bool:
        """Whether something of it should have come."""
        return self.is_open and self.due_on < today


def booked_orders(
    orders: QuerySet[Order] | Iterable[Order], *, bakery: Bakery
) -> list[BookedOrder]:
    """Return orders with their lines, steps and figures. Four queries.

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
    changes = _sent_changes(found)
    return [
        _booked(order, lines[order.pk], steps[order.pk], changes[order.pk], bakery)
        for order in found
    ]


def booked_order(order: Order, *, bakery: Bakery) -> BookedOrder:
    """Return one order with its lines, steps and figures.

    Two queries; three of what was revised.
    """
    return booked_orders([order], bakery=bakery)[0]


def by_item(lines: Iterable[OrderLine]) -> list[OrderLine]:
    """Return lines in the order in which an order shows them. No query."""
    return sorted(
        lines, key=lambda line: (line.pack.item.name.casefold(), line.pack.label)
    )


def marked_sheet(
    sheet: OrderSheet, revision: Revision, changes: Sequence[RevisionLine]
) -> OrderSheet:
    """Return a sheet that marks what a revision changed. No query.

    Its lines stand as their packs do in `changes`, which come with them.
    """
    words = {
        (each.pack.label, each.pack.item.name): _change_words(each) for each in changes
    }
    lines = [
        replace(line, change=words.get((line.pack, line.item), ""))
        for line in sheet.lines
    ]
    is_moved = revision.was_deliver_on != revision.deliver_on
    return replace(
        sheet,
        lines=lines,
        revision=revision.number,
        replaces=replaced_words(sheet.reference, revision.replaces),
        was_deliver_on=revision.was_deliver_on if is_moved else None,
        removed=[_removed(each) for each in changes if not each.packs],
    )


def _removed(change: RevisionLine) -> OrderSheetLine:
    return OrderSheetLine(
        code=change.pack.code,
        pack=change.pack.label,
        item=change.pack.item.name,
        packs=0,
        price=change.price,
        line_cost=NOTHING,
        change=_change_words(change),
    )


def _change_words(change: RevisionLine) -> str:
    return changed_packs(terms_of_pack(change.pack), change.was_packs, change.packs)


def _sent_changes(orders: Iterable[Order]) -> defaultdict[int, list[RevisionLine]]:
    """Return the lines of the revisions that orders were last sent as. One query."""
    revised = {order.pk: order.revision for order in orders if order.revision}
    found: defaultdict[int, list[RevisionLine]] = defaultdict(list)
    if not revised:
        return found
    rows = RevisionLine.objects.filter(revision__order__in=revised)
    for row in rows.select_related("revision", "pack__item"):
        if row.revision.number == revised[row.revision.order_id]:
            found[row.revision.order_id].append(row)
    return found


def _booked(
    order: Order,
    lines: list[OrderLine],
    steps: list[OrderStep],
    changes: list[RevisionLine],
    bakery: Bakery,
) -> BookedOrder:
    in_order = by_item(lines)
    sheet = stored_sheet(order, in_order, bakery, steps=steps)
    if changes:
        sheet = marked_sheet(sheet, changes[0].revision, changes)
    return BookedOrder(order, in_order, steps, sheet, changes)


def _by_order(rows: Iterable[Any]) -> defaultdict[int, list[Any]]:
    found: defaultdict[int, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.order_id].append(row)
    return found
