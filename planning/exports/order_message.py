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
        *([_replaces(order)] if order.replaces else []),
        _for_delivery(order),
        *(f"{label}: {words}" for label, words in order.facts),
        *([_("Note: {note}").format(note=order.note)] if order.note else []),
        "",
        *(_line(line) for line in [*order.lines, *order.removed]),
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


def _replaces(order: OrderSheet) -> str:
    return _("Replaces {order}").format(order=order.replaces)


def _for_delivery(order: OrderSheet) -> str:
    day = long_date_words(order.deliver_on)
    if order.was_deliver_on is None:
        return _("For delivery on {long_date}").format(long_date=day)
    return _("For delivery on {long_date} (was {was})").format(
        long_date=day, was=long_date_words(order.was_deliver_on)
    )


def _line(line: OrderSheetLine) -> str:
    code = _(", code {code}").format(code=line.code) if line.code else ""
    change = f" ({line.change})" if line.change else ""
    return " ".join(f"{line.packs} x {line.pack}, {line.item}{code}{change}".split())
