"""A supplier order as CSV: the same lines as the spreadsheet's first sheet."""

import csv
from io import StringIO

from planning.exports.order_sheet import OrderSheet
from planning.exports.order_workbook import COLUMNS
from stock.wording.safe_text import csv_text


def order_csv(order: OrderSheet) -> str:
    """Return the order's lines with a header row, as RFC 4180 writes them.

    Sums are left out: a program that reads this adds up for itself.
    """
    buffer = StringIO()
    writer = csv.writer(buffer)
    writer.writerow([heading for heading, _ in COLUMNS])
    for line in order.lines:
        writer.writerow(
            [
                csv_text(line.code),
                csv_text(line.pack),
                line.packs,
                line.price,
                line.line_cost,
                csv_text(line.item),
                order.deliver_on.isoformat(),
                "",
            ]
        )
    return buffer.getvalue()
