"""One supplier order as plain values, ready to be written in any form.

The same values stand on the page, in the spreadsheet, in the CSV file and in the
message, so that their figures cannot differ.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from planning.engine.costing import cost_of_packs
from planning.engine.kitchen import Kitchen
from planning.engine.plan import SuggestedOrder
from planning.models import Order, OrderLine
from stock.models import Bakery


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

    @property
    def total_cost(self) -> Decimal:
        """Goods and delivery fee."""
        return self.goods_cost + self.fee


def suggested_sheet(
    kitchen: Kitchen, order: SuggestedOrder, bakery: Bakery
) -> OrderSheet:
    """Return the sheet of an order that the plan suggests."""
    lines = [
        OrderSheetLine(
            code=line.pack.code,
            pack=line.pack.label,
            item=kitchen.nodes.names[line.pack.node],
            packs=line.packs,
            price=line.price,
            line_cost=line.line_cost,
        )
        for line in order.lines
    ]
    return OrderSheet(
        bakery=bakery.name,
        currency=bakery.currency,
        reference="",
        supplier=kitchen.suppliers[order.supplier].name,
        deliver_on=order.deliver_on,
        order_by=order.order_by,
        lines=lines,
        goods_cost=order.goods_cost,
        fee=order.fee,
    )


def stored_sheet(
    order: Order, lines: Sequence[OrderLine], bakery: Bakery
) -> OrderSheet:
    """Return the sheet of a stored order. No query: its lines come with their packs.

    The fee is the one the order was sent with; until then the supplier's own, unless
    the goods reach its free delivery.
    """
    sheet_lines = [
        OrderSheetLine(
            code=line.pack.code,
            pack=line.pack.label,
            item=line.pack.item.name,
            packs=line.packs,
            price=line.price,
            line_cost=cost_of_packs(line.price, line.packs),
        )
        for line in lines
    ]
    goods_cost = sum((line.line_cost for line in sheet_lines), Decimal("0.00"))
    return OrderSheet(
        bakery=bakery.name,
        currency=bakery.currency,
        reference=order.reference,
        supplier=order.supplier.name,
        deliver_on=order.deliver_on,
        order_by=order.order_by and order.order_by.astimezone(bakery.zone),
        lines=sheet_lines,
        goods_cost=goods_cost,
        fee=_fee(order, goods_cost),
    )


def _fee(order: Order, goods_cost: Decimal) -> Decimal:
    if order.fee is not None:
        return order.fee
    free_from = order.supplier.free_delivery_from
    if free_from is not None and goods_cost >= free_from:
        return Decimal("0.00")
    return order.supplier.delivery_fee
