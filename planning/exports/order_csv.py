"""A supplier order as CSV: the same rows as the spreadsheet's sheet `Lines`."""

import csv
from datetime import date
from decimal import Decimal
from io import StringIO

from planning.exports.order_columns import HEADINGS, flat_rows
from planning.exports.order_sheet import OrderSheet
from stock.wording.safe_text import csv_text


def order_csv(order: OrderSheet) -> str:
    """Return the order's lines with a header row, as RFC 4180 writes them."""
    buffer = StringIO()
    writer = csv.writer(buffer)
    writer.writerow(HEADINGS)
    writer.writerows([_text(value) for value in row] for row in flat_rows(order))
    return buffer.getvalue()


def _text(value: str | int | Decimal | date) -> str:
    return csv_text(value) if isinstance(value, str) else str(value)
