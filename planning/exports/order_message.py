"""A supplier order as a short text, to be sent or read out on the phone."""

from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from stock.calendar.calendar_words import long_date_words


def order_message(order: OrderSheet) -> str:
    """Return the order in plain lines, the number of packs first."""
    number = f" {order.number}" if order.number else ""
    lines = [
        f"{order.bakery}: order{number} to {order.supplier}",
        f"For delivery on {long_date_words(order.deliver_on)}",
        *(f"{label}: {words}" for label, words in order.facts),
        "",
        *(_line(line) for line in order.lines),
        "",
        f"Goods {order.goods_cost:,.2f} + delivery {order.fee:,.2f}"
        f" = {order.total_cost:,.2f} {order.currency}",
        "Please confirm, and say what you cannot bring.",
    ]
    return "\n".join(lines) + "\n"


def _line(line: OrderSheetLine) -> str:
    code = f", code {line.code}" if line.code else ""
    return " ".join(f"{line.packs} x {line.pack}, {line.item}{code}".split())
