"""A supplier order as an e-mail to be opened, looked at and sent (RFC 5322).

The message is its text, the spreadsheet is attached. Who sends it, and when, is left
to the program that does.
"""

from email.errors import MessageError
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP

from django.utils.translation import gettext as _

from planning.exports.order_message import order_message
from planning.exports.order_sheet import OrderSheet
from planning.exports.order_workbook import order_workbook
from stock.wording.safe_text import file_stem, writable


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
