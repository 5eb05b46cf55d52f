"""A supplier order as a short text, to be sent or read out on the phone."""

from django.utils.translation import gettext as _

from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from stock.calendar.calendar_words import long_date_words


def order_message(order: OrderSheet) -> str:
    """Return the order in plain lines, the number of packs first."""
    number = f" {order.number}" if order.number else ""
    lines = [
        _("{bakery}: order{number} to {supplier}").format(
            bakery=order.bakery, number=number, supplier=order.supplier
        ),
        _("For delivery on {long_date}").format(
            long_date=long_date_words(order.deliver_on)
        ),
        *(f"{label}: {words}" for label, words in order.facts),
        *([f"Note: {order.note}"] if order.note else []),
        "",
        *(_line(line) for line in order.lines),
        "",
        _(
            "Goods {goods_cost:,.2f} + delivery {fee:,.2f} = {total_cost:,.2f} "
            "{currency}"
        ).format(
            goods_cost=order.goods_cost,
            fee=order.fee,
            total_cost=order.total_cost,
            currency=order.currency,
        ),
        _("Please confirm, and say what you cannot bring."),
    ]
    return "\n".join(lines) + "\n"


def _line(line: OrderSheetLine) -> str:
    code = _(", code {code}").format(code=line.code) if line.code else ""
    return " ".join(f"{line.packs} x {line.pack}, {line.item}{code}".split())
