"""What fills an order's sheet: a suggestion of the plan, or an order that is stored."""

from collections.abc import Sequence
from decimal import Decimal

from planning.engine.costing import NOTHING, cost_of_packs, delivery_fee
from planning.engine.kitchen import Kitchen
from planning.engine.plan import SuggestedOrder
from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from planning.models import Order, OrderLine
from planning.plan.order_terms import terms_of_supplier
from stock.models import Bakery


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
        **_address(bakery),
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
    goods_cost = sum((line.line_cost for line in sheet_lines), NOTHING)
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
        account=order.supplier.account,
        **_address(bakery),
    )


def _address(bakery: Bakery) -> dict[str, str]:
    """Return what an order says of the bakery beside its name."""
    return {
        "deliver_to": bakery.address,
        "phone": bakery.phone,
        "delivery_note": bakery.delivery_note,
    }


def _fee(order: Order, goods_cost: Decimal) -> Decimal:
    if order.fee is not None:
        return order.fee
    return delivery_fee(terms_of_supplier(order.supplier), goods_cost)
