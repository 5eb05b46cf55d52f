"""A supplier order as a short text, to be sent or read out on the phone.

A supplier order as an e-mail to be opened, looked at and sent (RFC 5322).

The message is its text, the spreadsheet is attached. Who sends it, and when, is left
to the program that does.
"""

from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP

from django.utils.translation import gettext as _

from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from planning.exports.order_workbook import order_workbook
from stock.calendar.calendar_words import long_date_words
from stock.wording.safe_text import file_stem, writable


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


def order_subject(order: OrderSheet) -> str:
    """Return what an order's mail is about, on one line."""
    subject = _("Order {number} from {bakery}").format(
        number=order.number, bakery=order.bakery
    )
    return " ".join(writable(subject).split())


def order_mail(order: OrderSheet) -> bytes:
    """Return the order as a mail file, which a mail program opens as a draft.

    An address that is none is left out: the program asks for one.
    """
    mail = EmailMessage(policy=SMTP)
    mail["Subject"] = order_subject(order)
    if to := _address(order.supplier_email):
        mail["To"] = to
    mail["X-Unsent"] = "1"  # opened as a draft, not as something received
    mail.set_content(order_message(order))
    stem = file_stem(order.deliver_on.isoformat(), order.supplier, order.reference)
    mail.add_attachment(
        order_workbook(order),
        maintype="application",
        subtype="vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        filename=f"{stem}.xlsx",
    )
    return mail.as_bytes()


def _address(text: str) -> Address | None:
    """Return an address; None where it would not be one, or more than one."""
    try:
        return Address(addr_spec=text) if text else None
    except (ValueError, IndexError, MessageError):
        return None
