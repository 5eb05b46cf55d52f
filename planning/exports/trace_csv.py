"""A trace as CSV: one row a link, with headings that stay where they are."""

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from io import StringIO

from stock.wording.safe_text import csv_text

# Fixed, because somebody's sheet goes by them; a new one is added at the end.
HEADINGS = (
    *("Direction", "From", "To", "Document", "Day", "Quantity", "Unit"),
    *("Supplier", "Order", "Item", "Lot", "Use by", "Cake", "For", "Left", "Place"),
)


@dataclass(frozen=True, slots=True)
class TraceRow:
    """One link of a trace, in words and figures; blank or None: does not apply."""

    direction: str  # back, forward or left
    source: str
    target: str
    document: str
    on: date | None
    quantity_base: Decimal | None
    unit: str
    supplier: str
    order: str
    item: str
    lot: str
    use_by: date | None
    cake: str
    reference: str  # for whom the cake is; nothing else is known of them here
    left_base: Decimal | None
    place: str


def trace_csv(rows: Iterable[TraceRow]) -> str:
    """Return links with a header row, as RFC 4180 writes them."""
    buffer = StringIO()
    writer = csv.writer(buffer)
    writer.writerow(HEADINGS)
    writer.writerows([_text(value) for value in _values(row)] for row in rows)
    return buffer.getvalue()


def _values(row: TraceRow) -> tuple[str | date | Decimal | None, ...]:
    return (
        *(row.direction, row.source, row.target, row.document, row.on),
        *(row.quantity_base, row.unit, row.supplier, row.order, row.item, row.lot),
        *(row.use_by, row.cake, row.reference, row.left_base, row.place),
    )


def _text(value: str | date | Decimal | None) -> str:
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return csv_text(value) if isinstance(value, str) else value.isoformat()
