"""What fills an order's sheet: a suggestion of the plan, or an order that is stored."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from planning.engine.costing import NOTHING, cost_of_packs, delivery_fee
from planning.engine.kitchen import Kitchen
from planning.engine.plan import SuggestedOrder
from planning.exports.order_sheet import OrderSheet, OrderSheetLine
from planning.models import Order, OrderLine, OrderStep
from planning.plan.order_terms import terms_of_supplier
from planning.plan.planner import Planned
from stock.models import Bakery, Supplier


def suggested_sheets(planned: Planned) -> list[OrderSheet]:
    """Return the sheets of all orders that a plan suggests. One query."""
    suppliers = Supplier.objects.in_bulk()
    kitchen, bakery = planned.kitchen, planned.bakery
    return [
        suggested_sheet(
            kitchen,
            order,
            bakery,
            supplier=suppliers.get(kitchen.suppliers[order.supplier].supplier_id),
        )
        for order in planned.plan.purchasing.orders
    ]


def suggested_sheet(
    kitchen: Kitchen,
    order: SuggestedOrder,
    bakery: Bakery,
    *,
    supplier: Supplier | None = None,
) -> OrderSheet:
    """Return the sheet of an order that the plan suggests.

    Whom to ask for there is left out where the supplier's row is not given.
    """
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
        is_draft=True,
        **_contact(supplier),
        **_address(bakery),
    )


def stored_sheet(
    order: Order,
    lines: Sequence[OrderLine],
    bakery: Bakery,
    *,
    steps: Iterable[OrderStep] = (),
) -> OrderSheet:
    """Return the sheet of a stored order. No query: its lines come with their packs.

    The fee is the one the order was sent with; until then the supplier's own, unless
    the goods reach its free delivery. Its own day is known from its steps.
    """
    sheet_lines = _sheet_lines(lines)
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
        note=order.note,
        ordered_on=_approved_on(order, steps, bakery),
        is_draft=order.state == Order.State.DRAFT,
        **_contact(order.supplier),
        **_address(bakery),
    )


def _sheet_lines(lines: Sequence[OrderLine]) -> list[OrderSheetLine]:
    return [
        OrderSheetLine(
            code=line.pack.code,
            pack=line.pack.label,
            item=line.pack.item.name,
            packs=line.packs,
            price=line.price,
            line_cost=cost_of_packs(line.price, line.packs),
        )
        for line in lines
        if line.stands_for_id is None  # a substitute was never ordered
    ]


def _approved_on(
    order: Order, steps: Iterable[OrderStep], bakery: Bakery
) -> date | None:
    """Return the day an order was last approved on; a draft has none.

    It is the same before and after it is sent, and so is the file.
    """
    if order.state == Order.State.DRAFT:
        return None
    moments = [
        step.at
        for step in steps
        if step.state == Order.State.APPROVED and step.revision == order.revision
    ]
    return max(moments).astimezone(bakery.zone).date() if moments else None


def _contact(supplier: Supplier | None) -> dict[str, Any]:
    """Return what an order says of the supplier beside its name."""
    if supplier is None:
        return {}
    return {
        "account": supplier.account,
        "contact": supplier.contact,
        "supplier_email": supplier.email,
        "supplier_phone": supplier.phone,
    }


def _address(bakery: Bakery) -> dict[str, Any]:
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
