"""Keeping open orders: what was ordered elsewhere and is still to come.

An order that was sent from here is what the supplier was told. A row that says the same
is fine, and may say how much of it was received, less too where more was said by
mistake; anything else is refused. So is less than the deliveries recorded here have
brought of a line: a delivery is undone, which takes its stock off again.
"""

from collections.abc import Iterable, Sequence, Set
from datetime import date
from typing import Any

from django.db.models import OuterRef, Q, Subquery, Sum
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.entry.sheets import OPEN_ORDERS
from planning.models import DeliveryLine, Order, OrderLine, OrderStep
from planning.models.orders import STILL_TO_COME
from planning.orders.receiving import state_of
from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept, folded
from stock.models import Item, Pack, Supplier
from stock.saving import upsert
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import update_versioned
from stock.wording import names


def keep_open_orders(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
    by_id: int | None = None,
) -> Kept:
    """Store lines of open orders; return what was added, changed and left alone.

    An order that is not known yet counts as sent; one that was sent from here is not
    changed. What is still to come is packs less received packs; an order of which
    nothing is to come is received, and a stored one's new state is a step in its
    history. See `stock.saving.upsert` for rows, ids and batch. A fixed number of
    queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[OrderLine] = Keeping(
            OPEN_ORDERS, entries, own, rows=rows, ids=ids
        )
        directory = _Directory(
            {folded(row.given["order"]) for row in kept.rows if row.says("order")}
        )
        matched = kept.match(directory.lines, _values)
        for row in matched:
            _find_links(kept, row, directory)
            _check_received(kept, row)
            _refuse_change_of_sent(kept, row, directory)
            _refuse_less_than_came_here(kept, row, directory)
        _check_orders(kept, matched, directory)
        sound = kept.sound_rows()
        _write_orders(sound, directory)
        kept.write(sound, _assign, OrderLine, WRITTEN_FIELDS)
        _settle_states(sound, directory, by_id=by_id)
    return kept.kept()


def open_order_entries() -> list[dict[str, Any]]:
    """Return what is still to come as entries, by day and order. One query."""
    lines = (
        _stored_lines()
        .filter(STILL_TO_COME, order__state__in=Order.OPEN_STATES)
        .order_by("due_on", "order__reference", "pack__item__name", "pack__label")
    )
    return [_values(line) for line in lines]


WRITTEN_FIELDS = [
    *("order", "pack", "packs", "received_packs", "price", "due_on"),
    "expected_packs",
]
# What a supplier was told, and cannot be made undone by a file.
OF_A_SENT_ORDER = ("order", "supplier", "item", "pack", "packs", "due")
SENT_WAY_OUT = gettext_lazy(
    "Leave it as it is, or cancel that order and send another one."
)


class _Directory:
    """What lines of orders speak of, by name. Six queries."""

    def __init__(self, references: Set[str]) -> None:
        self.orders = {
            folded(order.reference): order
            for order in Order.objects.select_related("supplier")
        }
        received = [
            order.pk
            for reference, order in self.orders.items()
            if order.state == Order.State.RECEIVED and reference in references
        ]
        lines = _stored_lines().filter(
            Q(order__state__in=Order.OPEN_STATES) | Q(order__in=received)
        )
        came = DeliveryLine.objects.order_by().filter(
            line=OuterRef("pk"), delivery__undone_at=None, packs__gt=0
        )
        packs_came = came.values("line").annotate(sum=Sum("packs")).values("sum")
        self.lines = list(lines.annotate(came_here=Subquery(packs_came)))
        self.packs_came_here = {
            line.pk: line.came_here for line in self.lines if line.came_here
        }
        self.items = upsert.by_name(Item.objects.all())
        self.suppliers = upsert.by_name(Supplier.objects.all())
        sent = OrderStep.objects.filter(state=Order.State.SENT, imported=False)
        self.sent_here = set(sent.order_by().values_list("order_id", flat=True))
        self.packs = {
            (pack.supplier_id, pack.item_id, folded(pack.label)): pack
            for pack in Pack.objects.all()
        }

    def labels(self, supplier: Supplier, item: Item) -> list[str]:
        """Return the packs in which a supplier sells an item."""
        return [
            pack.label
            for pack in self.packs.values()
            if (pack.supplier_id, pack.item_id) == (supplier.pk, item.pk)
        ]


def _stored_lines() -> Any:
    return OrderLine.objects.select_related(
        "order__supplier", "pack__item", "pack__supplier"
    )


def _values(line: OrderLine) -> dict[str, Any]:
    return {
        "order": line.order.reference,
        "supplier": line.order.supplier.name,
        "item": line.pack.item.name,
        "pack": line.pack.label,
        "packs": line.packs,
        "due": line.due_on,
        "received_packs": line.received_packs,
    }


def _find_links(
    kept: Keeping[OrderLine], row: Row[OrderLine], directory: _Directory
) -> None:
    """Find a line's supplier and item, and with both of them its pack."""
    supplier = kept.find(
        row,
        "supplier",
        directory.suppliers,
        space=upsert.SUPPLIERS,
        noun="supplier",
    )
    item = kept.find(row, "item", directory.items, space=upsert.NAMES, noun="item")
    if supplier is not None and item is not None:
        _find_pack(kept, row, directory)


def _find_pack(
    kept: Keeping[OrderLine], row: Row[OrderLine], directory: _Directory
) -> None:
    supplier, item, label = row.links["supplier"], row.links["item"], row.after["pack"]
    pack = directory.packs.get((supplier.pk, item.pk, folded(label)))
    if pack is not None:
        row.links["pack"] = pack
        row.after["pack"] = pack.label
        return
    row.is_sound = False
    if (upsert.PACKS, (folded(label),)) not in kept.batch.refused:
        noun = _("pack of {name} from {name2}").format(
            name=item.name, name2=supplier.name
        )
        sentence = names.unknown(noun, label, directory.labels(supplier, item))
        kept.fault(row, "pack", sentence)


def _check_received(kept: Keeping[OrderLine], row: Row[OrderLine]) -> None:
    columns = "packs", "received_packs"
    if not row.says(*columns) or "packs" not in row.after:
        return
    ordered, received = (row.after[column] for column in columns)
    if received > ordered:
        kept.fault(
            row,
            "received_packs",
            _(
                "Only {ordered} were ordered, so {received} can't have been received."
            ).format(ordered=ordered, received=received),
        )


def _refuse_change_of_sent(
    kept: Keeping[OrderLine], row: Row[OrderLine], directory: _Directory
) -> None:
    """Refuse what would make another order of one that was sent from here."""
    order = directory.orders.get(folded(row.after["order"]))
    if row.stored is not None and row.stored.order_id in directory.sent_here:
        order = row.stored.order
    if order is None or order.pk not in directory.sent_here:
        return
    if row.is_new:
        words = _("{reference} was sent without this. {sent_way_out}").format(
            reference=order.reference, sent_way_out=SENT_WAY_OUT
        )
        kept.fault(row, "pack", words)
        return
    for column in OF_A_SENT_ORDER:
        if row.says(column) and row.changes(column):
            kept.fault(row, column, _sent_words(kept, row, column, order))


def _refuse_less_than_came_here(
    kept: Keeping[OrderLine], row: Row[OrderLine], directory: _Directory
) -> None:
    """Refuse to unsay, without its stock, what a delivery recorded here has brought."""
    column = "received_packs"
    came = directory.packs_came_here.get(row.stored.pk) if row.stored else None
    if row.stored and came and row.says(column) and row.after[column] < came:
        kept.fault(
            row,
            column,
            _(
                "{reference} was received here: deliveries brought {came} of this. "
                "Enter {came} or more. A wrong delivery is undone on the order's "
                "page, on its own day only."
            ).format(reference=row.stored.order.reference, came=came),
        )


def _sent_words(
    kept: Keeping[OrderLine], row: Row[OrderLine], column: str, order: Order
) -> str:
    sheet_column = kept.sheet.column(column)
    stands = sheet_column.text(row.before[column])
    heading = sheet_column.heading.lower()
    return _(
        "{reference} was sent from here with {heading} {stands}. {sent_way_out}"
    ).format(
        reference=order.reference,
        heading=heading,
        stands=stands,
        sent_way_out=SENT_WAY_OUT,
    )


def _check_orders(
    kept: Keeping[OrderLine],
    rows: Iterable[Row[OrderLine]],
    directory: _Directory,
) -> None:
    """Refuse orders that are not open, and two suppliers on one order."""
    supplier_by_order = {key: order.supplier for key, order in directory.orders.items()}
    for row in rows:
        reference = row.after["order"]
        order = directory.orders.get(folded(reference))
        if order is not None and not _is_open_to(row, order, directory):
            kept.fault(
                row,
                "order",
                _(
                    "{reference} is {state} here, so it isn't an open order. Leave it "
                    "out, or give this one another number."
                ).format(reference=reference, state=order.state),
            )
        supplier = row.links.get("supplier")
        if supplier is None:
            continue
        first = supplier_by_order.setdefault(folded(reference), supplier)
        if first.pk != supplier.pk:
            kept.fault(
                row,
                "supplier",
                _(
                    "{reference} is an order to {name}; one order has one supplier."
                ).format(reference=reference, name=first.name),
            )


def _is_open_to(row: Row[OrderLine], order: Order, directory: _Directory) -> bool:
    """Whether a row may speak of an order.

    Of a received one it may say the same again, and where no delivery was recorded
    here, correct what a file said by mistake.
    """
    if order.state in Order.OPEN_STATES:
        return True
    if order.state != Order.State.RECEIVED or row.stored is None:
        return False
    return row.before == row.after or not any(
        line.order_id == order.pk and line.pk in directory.packs_came_here
        for line in directory.lines
    )


def _write_orders(rows: Sequence[Row[OrderLine]], directory: _Directory) -> None:
    """Store the orders of some lines, each on the first day that a line is due.

    An order of which a line is new or changed is of its next version.
    """
    known = {order.pk for order in directory.orders.values()}
    orders: dict[str, Order] = {}
    first_due: dict[str, date] = {}
    in_rows = {row.stored.pk for row in rows if row.stored is not None}
    for line in directory.lines:
        if line.pk not in in_rows:
            _bring_forward(first_due, line.order.reference, line.due_on)
    for row in rows:
        reference = row.after["order"]
        key = folded(reference)
        _bring_forward(first_due, reference, row.after["due"])
        if key not in orders:
            orders[key] = directory.orders.get(key) or Order(
                reference=reference,
                supplier=row.links["supplier"],
                state=Order.State.SENT,
            )
        row.links["order"] = orders[key]
    for key, order in orders.items():
        order.deliver_on = first_due[key]
    Order.objects.bulk_create(order for order in orders.values() if order.pk is None)
    changed = {
        row.links["order"].pk: row.links["order"]
        for row in rows
        if row.before != row.after and row.links["order"].pk in known
    }
    update_versioned(Order, list(changed.values()), ["deliver_on"])


def _settle_states(
    rows: Sequence[Row[OrderLine]], directory: _Directory, *, by_id: int | None
) -> None:
    """Bring the orders of some lines into the states that all their lines say."""
    known = {order.pk for order in directory.orders.values()}
    orders = {row.links["order"].pk: row.links["order"] for row in rows}
    lines: dict[int, list[OrderLine]] = {}
    for line in OrderLine.objects.filter(order__in=orders).order_by():
        lines.setdefault(line.order_id, []).append(line)
    unsettled = []
    for pk, order in orders.items():
        state = state_of(lines[pk])
        if order.state != state:
            order.state = state
            unsettled.append(order)
    update_versioned(Order, unsettled, ["state"])
    now = timezone.now()
    OrderStep.objects.bulk_create(
        OrderStep(order=order, state=order.state, at=now, by_id=by_id, imported=True)
        for order in unsettled
        if order.pk in known
    )


def _bring_forward(first_due: dict[str, date], reference: str, due_on: date) -> None:
    key = folded(reference)
    first_due[key] = min(due_on, first_due.get(key, due_on))


def _assign(line: OrderLine, row: Row[OrderLine]) -> None:
    if row.is_new or line.pack_id != row.links["pack"].pk:
        line.price = row.links["pack"].price
    if line.packs != row.after["packs"]:
        line.expected_packs = None  # the answer was to another line
    line.order = row.links["order"]
    line.pack = row.links["pack"]
    line.packs = row.after["packs"]
    line.received_packs = row.after["received_packs"]
    line.due_on = row.after["due"]
