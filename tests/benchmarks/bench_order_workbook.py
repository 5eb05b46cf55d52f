"""How long an order of 400 lines takes to write, beside the same bare cells.

Run: python -m tests.benchmarks.bench_order_workbook

Bare cells are openpyxl appending the same values without formats. Both are the best of
a few rounds in this one run; the exit code is 1 where the ratio is over.
"""

import os
import sys
from datetime import date
from decimal import Decimal
from io import BytesIO

import django
from openpyxl import Workbook

from tests.benchmarks.scratch import best_seconds

# Every line stands twice: as a row of the document with its looks, and bare.
LARGEST_RATIO = 9.0
LINES = 400


def an_order():
    from planning.exports.order_sheet import OrderSheet, OrderSheetLine

    lines = [
        OrderSheetLine(
            code=f"C{number:05}",
            pack=f"case {number} x 1 lb",
            item=f"item {number}",
            packs=number % 9 + 1,
            price=Decimal("118.80"),
            line_cost=Decimal("118.80") * (number % 9 + 1),
        )
        for number in range(LINES)
    ]
    return OrderSheet(
        bakery="A bakery",
        currency="USD",
        reference="1",
        supplier="A supplier",
        deliver_on=date(2026, 5, 5),
        order_by=None,
        lines=lines,
        goods_cost=sum((line.line_cost for line in lines), Decimal(0)),
        fee=Decimal("12.50"),
    )


def write_bare(order):
    book = Workbook()
    for line in order.lines:
        book.active.append(
            [
                line.code,
                line.pack,
                line.packs,
                line.price,
                line.line_cost,
                line.item,
                order.deliver_on,
            ]
        )
    book.save(BytesIO())


def main():
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
    django.setup()
    from planning.exports.order_workbook import order_workbook

    order = an_order()
    bare = best_seconds(lambda: write_bare(order))
    ours = best_seconds(lambda: order_workbook(order))
    print(
        f"{LINES} lines: bare {bare * 1e3:.1f} ms, order {ours * 1e3:.1f} ms, "
        f"ratio {ours / bare:.2f} (at most {LARGEST_RATIO:g})"
    )
    return 0 if ours / bare <= LARGEST_RATIO else 1


if __name__ == "__main__":
    sys.exit(main())
