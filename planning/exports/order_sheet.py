"""One supplier order as plain values, ready to be written in any form.

The same values stand on the page, in the spreadsheet, in the CSV file and in the
message, so that their figures cannot differ.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.utils.translation import gettext as _


@dataclass(frozen=True, slots=True)
class OrderSheetLine:
    """So many packs of one kind, in the supplier's words and at its price."""

    code: str
    pack: str
    item: str
    packs: int
    price: Decimal  # of one pack
    line_cost: Decimal  # rounded half up to the cent, once
    change: str = ""  # since what was sent before: was 3 cases, now 5


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """What one supplier is asked to bring on one day."""

    bakery: str
    currency: str
    reference: str  # "" where it has no number yet
    supplier: str
    deliver_on: date
    order_by: datetime | None  # on the bakery's clock
    lines: Sequence[OrderSheetLine]
    goods_cost: Decimal
    fee: Decimal
    account: str = ""  # the bakery's number at the supplier
    contact: str = ""  # whom to ask for there
    supplier_email: str = ""
    supplier_phone: str = ""
    deliver_to: str = ""  # the bakery's address, on several lines perhaps
    phone: str = ""  # the bakery's
    delivery_note: str = ""
    note: str = ""  # for the supplier
    revision: int = 0  # counts what went out again with changes; 0 for the first
    replaces: str = ""  # what was sent before a revision
    was_deliver_on: date | None = None  # the day sent before, where it is another now
    removed: Sequence[OrderSheetLine] = ()  # lines of none, that were sent before
    ordered_on: date | None = None  # the day it was approved
    is_draft: bool = False  # nobody has said yet that it may go out

    @property
    def number(self) -> str:
        """The order's number as the supplier quotes it; blank for a suggestion."""
        if not self.reference:
            return ""
        revised = (
            _(", revision {revision}").format(revision=self.revision)
            if self.revision
            else ""
        )
        return f"{self.reference}{revised}"

    @property
    def facts(self) -> tuple[tuple[str, str], ...]:
        """What else a supplier has to know, where it is entered: label and words."""
        facts = (
            (_("Our account"), self.account),
            (_("Deliver to"), ", ".join(text_lines(self.deliver_to))),
            (_("Phone"), self.phone),
            (_("Delivery note"), ", ".join(text_lines(self.delivery_note))),
        )
        return tuple((label, words) for label, words in facts if words)

    @property
    def total_cost(self) -> Decimal:
        """Goods and delivery fee."""
        return self.goods_cost + self.fee


def text_lines(text: str) -> list[str]:
    """Return the lines of a text that say something, each without outer spaces."""
    return [line.strip() for line in text.splitlines() if line.strip()]
