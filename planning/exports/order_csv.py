"""A supplier order as CSV: the same rows as the spreadsheet's sheet `Lines`.

An order's lines as flat rows with fixed headings, for a supplier's own import.

The CSV file and the spreadsheet's sheet `Lines` are both written from here. A heading
never changes its name or place, because somebody's import goes by it; a new one is
added at the end.
"""

import csv
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from io import StringIO

from planning.exports.order_sheet import OrderSheet
from stock.wording.safe_text import csv_text

HEADINGS = (
    *("Supplier code", "Pack", "Qty", "Price", "Total", "Item", "Deliver on"),
    "Confirmed",  # blank: the supplier's to fill
    *("Line", "Order", "Revision", "Account", "Currency"),
    "Change",  # of a revision: was 3 cases, now 5
)


def flat_rows(order: OrderSheet) -> Iterator[tuple[str | int | Decimal | date, ...]]:
    """Return a row for each line, in the order of `HEADINGS`.

    Sums are left out: a program that reads this adds up for itself. What a revision
    removed comes last, with a quantity of 0.
    """
    for number, line in enumerate([*order.lines, *order.removed], start=1):
        yield (
            *(line.code, line.pack, line.packs, line.price, line.line_cost, line.item),
            *(order.deliver_on, "", number),
            *(order.reference, order.revision, order.account, order.currency),
            line.change,
        )


def order_csv(order: OrderSheet) -> str:
    """Return the order's lines with a header row, as RFC 4180 writes them."""
    buffer = StringIO()
    writer = csv.writer(buffer)
    writer.writerow(HEADINGS)
    writer.writerows([_text(value) for value in row] for row in flat_rows(order))
    return buffer.getvalue()


def _text(value: str | int | Decimal | date) -> str:
    return csv_text(value) if isinstance(value, str) else str(value)
