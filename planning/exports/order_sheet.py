"""One supplier order as plain values, ready to be written in any form.

The same values stand on the page, in the spreadsheet, in the CSV file and in the
message, so that their figures cannot differ.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class OrderSheetLine:
    """So many packs of one kind, in the supplier's words and at its price."""

    code: str
    pack: str
    item: str
    packs: int
    price: Decimal  # of one pack
    line_cost: Decimal  # rounded half up to the cent, once


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
    deliver_to: str = ""  # the bakery's address, on several lines perhaps
    phone: str = ""  # the bakery's
    delivery_note: str = ""

    @property
    def facts(self) -> tuple[tuple[str, str], ...]:
        """What else a supplier has to know, where it is entered: label and words."""
        facts = (
            ("Our account", self.account),
            ("Deliver to", ", ".join(self.deliver_to.split("\n"))),
            ("Phone", self.phone),
            ("Delivery note", ", ".join(self.delivery_note.split("\n"))),
        )
        return tuple((label, words) for label, words in facts if words)

    @property
    def total_cost(self) -> Decimal:
        """Goods and delivery fee."""
        return self.goods_cost + self.fee
