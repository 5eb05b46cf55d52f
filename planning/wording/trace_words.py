"""A trace in words: pages, the CSV file and the command say the same."""

from collections.abc import Iterator
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planning.exports.trace_csv import TraceRow
from planning.models import Bake, Delivery, Order, PlannedCake
from planning.sentences.words import capitalized, listed
from planning.tracing.finding import StartRow
from planning.tracing.trace import Link, LinkKind, StartKind, Trace
from planning.wording.bake_words import bake_words
from stock.calendar.calendar_words import date_words
from stock.holding.wording import lot_words
from stock.models import Lot, Movement

Kind = Movement.Kind
MOST_NAMED = 3
FOUND = {
    Kind.IMPORTED: gettext_lazy("From a workbook"),
    Kind.CORRECTED: gettext_lazy("Set by hand"),
    Kind.COUNTED: gettext_lazy("Found in a count"),
    Kind.RECEIVED: gettext_lazy("Received, no order recorded"),
    Kind.MADE: gettext_lazy("Made, no batch recorded"),
}
GONE = {
    Kind.IMPORTED: gettext_lazy("Taken off by a workbook"),
    Kind.CORRECTED: gettext_lazy("Set by hand"),
    Kind.COUNTED: gettext_lazy("Missing in a count"),
    Kind.USED: gettext_lazy("Used, no batch recorded"),
    Kind.WASTED: gettext_lazy("Wasted"),
}


def bake_name(bake: Bake) -> str:
    """Return which bake it is: 1 batch of layers (M12); honey cake (2122)."""
    if bake.planned_cake is not None:
        return bake_words(bake)
    return f"{bake_words(bake)} ({bake.lot_code})"


def cake_words(row: PlannedCake) -> str:
    """Return a cake by its reference, and when it is due. Its recipe is read."""
    return _("{cake}, {day} ({reference})").format(
        cake=capitalized(row.cake.item.name),
        day=date_words(row.due_on),
        reference=row.reference,
    )


def delivery_name(delivery: Delivery) -> str:
    """Return who delivered, and on which order. Both are read."""
    return _("{supplier}, order {order}").format(
        supplier=delivery.order.supplier.name, order=delivery.order.reference
    )


def source_words(link: Link) -> str:
    """Return from where a link comes."""
    if link.kind is LinkKind.DELIVERED and link.delivery is not None:
        return delivery_name(link.delivery)
    if link.kind is LinkKind.MADE and link.bake is not None:
        return capitalized(bake_name(link.bake))
    if link.kind is LinkKind.FOUND:
        kind = Kind(link.movement_kind)
        return str(FOUND.get(kind, kind.label))
    return lot_words(link.lot)


def target_words(link: Link) -> str:
    """Return to where a link goes."""
    if link.kind is LinkKind.USED and link.bake is not None:
        return capitalized(bake_name(link.bake))
    if link.kind is LinkKind.GONE:
        kind = Kind(link.movement_kind)
        return str(GONE.get(kind, kind.label))
    if link.kind is LinkKind.LEFT and link.place is not None:
        place = link.place.name
        return _("{place}, on hold").format(place=place) if link.is_held else place
    return lot_words(link.lot)


def start_words(row: StartRow) -> str:
    """Return what a trace begins with, in full. What `start_row` reads is read."""
    if isinstance(row, Lot):
        return lot_words(row)
    if isinstance(row, Delivery):
        return _("Delivery of {day}: {name}").format(
            day=date_words(row.received_on), name=delivery_name(row)
        )
    if isinstance(row, Order):
        return _("Order {order}, {supplier}").format(
            order=row.reference, supplier=row.supplier.name
        )
    return cake_words(row)


def start_heading(row: StartRow) -> str:
    """Return the same as a page's heading."""
    if isinstance(row, Lot):
        if not row.code:
            return _("Trace {item}").format(item=row.item.name)
        return _("Trace lot {code}").format(code=row.code)
    if isinstance(row, PlannedCake):
        return _("Trace cake {reference}").format(reference=row.reference)
    if isinstance(row, Order):
        return _("Trace order {order}").format(order=row.reference)
    return _("Trace delivery of {order}").format(order=row.order.reference)


def reached_words(trace: Trace) -> str:
    """Return which cakes something went into, in a sentence; blank of a cake."""
    if trace.start.kind is StartKind.CAKE:
        return ""
    if not trace.cakes:
        return _("In no cake that was recorded.")
    names = [row.reference for row in trace.cakes]
    return ngettext(
        "In {count} cake: {names}.", "In {count} cakes: {names}.", len(names)
    ).format(count=len(names), names=listed(names, MOST_NAMED))


def trace_rows(trace: Trace) -> Iterator[TraceRow]:
    """Yield a row for each link: back, forward, then what is left."""
    for link in trace.back:
        yield _row(link, _("back"))
    for link in trace.forward:
        yield _row(link, _("forward"))
    for link in trace.left:
        yield _row(link, _("left"))


def row_words(row: TraceRow) -> str:
    """Return a link in one line, the quantity in the item's base unit."""
    base = row.quantity_base if row.left_base is None else row.left_base
    day = "" if row.on is None else f", {row.on.isoformat()}"
    amount = f"{(base or Decimal(0)).normalize():f} {row.unit}"
    return f"{row.direction}: {row.source} -> {row.target}: {amount}{day}"


def _row(link: Link, direction: str) -> TraceRow:
    is_left = link.kind is LinkKind.LEFT
    planned = link.bake.planned_cake if link.bake else None
    order = link.delivery.order if link.delivery else None
    return TraceRow(
        direction=direction,
        source=source_words(link),
        target=target_words(link),
        document=_document_words(link),
        on=link.on,
        quantity_base=None if is_left else link.amount_base,
        unit=link.lot.item.base_unit,
        supplier=order.supplier.name if order else "",
        order=order.reference if order else "",
        item=link.lot.item.name,
        lot=link.lot.code,
        use_by=link.lot.use_by,
        cake=planned.cake.item.name if planned else "",
        reference=planned.reference if planned else "",
        left_base=link.amount_base if is_left else None,
        place=link.place.name if link.place else "",
    )


def _document_words(link: Link) -> str:
    """Return what a link was recorded by."""
    if link.delivery is not None:
        return _("Delivery {number}").format(number=link.delivery.pk)
    if link.bake is not None:
        return _("Bake {number}").format(number=link.bake.pk)
    return str(Kind(link.movement_kind).label) if link.movement_kind else ""
