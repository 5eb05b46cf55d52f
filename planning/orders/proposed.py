"""An order as a revision would make it, to be looked at, printed and sent.

Nothing here is stored: the order and its lines are copies.
"""

from collections.abc import Sequence
from copy import copy
from dataclasses import replace

from planning.models import Order, OrderLine, Revision
from planning.orders.order_book import BookedOrder, by_item, marked_sheet
from planning.orders.order_sheets import stored_sheet
from stock.models import Bakery


def open_revision_of(order: Order) -> Revision | None:
    """Return the revision that is not sent yet, with its lines' packs. Two queries."""
    rows = order.revisions.filter(state__in=Revision.OPEN_STATES)
    return rows.prefetch_related("lines__pack__item").first()


def proposed_order(order: Order, revision: Revision) -> Order:
    """Return the order as it would be sent by a revision; never saved. No query."""
    proposed = copy(order)
    proposed.deliver_on, proposed.order_by = revision.deliver_on, revision.order_by
    proposed.note, proposed.revision = revision.note, revision.number
    proposed.state, proposed.fee = revision.state, None
    return proposed


def proposed_lines(
    order: Order, lines: Sequence[OrderLine], revision: Revision
) -> list[OrderLine]:
    """Return the lines as a revision would have them; of 0 packs what it removes.

    Lines that it does not name stay: they are closed, or a substitute. No query.
    """
    by_pack = {line.pack_id: copy(line) for line in lines}
    for said in revision.lines.all():
        line = by_pack.setdefault(
            said.pack_id,
            OrderLine(order=order, pack=said.pack, due_on=revision.deliver_on),
        )
        line.packs, line.price = said.packs, said.price
    return by_item(by_pack.values())


def proposed_book(
    booked: BookedOrder, revision: Revision, *, bakery: Bakery
) -> BookedOrder:
    """Return an order's book as a revision would make it. No query."""
    order = proposed_order(booked.order, revision)
    lines = proposed_lines(order, booked.lines, revision)
    changes = list(revision.lines.all())
    sheet = stored_sheet(order, kept(lines), bakery, steps=booked.steps)
    return replace(
        booked,
        order=order,
        lines=lines,
        sheet=marked_sheet(sheet, revision, changes),
        changes=changes,
    )


def kept(lines: Sequence[OrderLine]) -> list[OrderLine]:
    """Return the lines that still ask for something."""
    return [line for line in lines if line.packs]
