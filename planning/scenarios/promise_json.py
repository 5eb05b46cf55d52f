"""The answer to "can we take it?" as plain JSON values.

Amounts are in base units, rounded to 6 places; dates and moments are ISO 8601; money
is text with two places.
"""

from typing import Any
from zoneinfo import ZoneInfo

from planning.engine.scenarios.added_orders import MoreLine, MoreOrder
from planning.engine.scenarios.promise import (
    BelowSafety,
    Block,
    Cause,
    MoreShort,
    PromiseAnswer,
)
from planning.plan.plan_json import amount, money
from planning.scenarios.promise import CakeAnswer

# As `manage.py can_take --help` has them: programs read these words.
ANSWERS = {
    PromiseAnswer.FROM_THE_SHELVES: "yes from the shelves",
    PromiseAnswer.IF_ORDERED: "yes if ordered",
    PromiseAnswer.NO: "no",
}
CAUSES = {
    Cause.TOO_LATE: "too late for any delivery",
    Cause.NOT_SOLD: "no supplier sells it",
    Cause.MADE_TOO_LATE: "should have been made already",
}


def promise_as_json(answered: CakeAnswer, sentence: str) -> dict[str, Any]:
    """Return the whole answer as dicts, lists, numbers and texts."""
    promise, kitchen = answered.promise, answered.kitchen
    window = answered.planned.plan.window
    orders = promise.own_orders or promise.later_orders
    first = orders[0] if promise.order_by else None
    return {
        "as_of": window.as_of.astimezone(ZoneInfo(kitchen.bakery.zone_key)).isoformat(),
        "cake": kitchen.nodes.names[promise.one_more.cake],
        "size": answered.asked.size,
        "date": answered.asked.due_on.isoformat(),
        "quantity": amount(answered.asked.quantity),
        "currency": kitchen.bakery.currency,
        "answer": ANSWERS[promise.answer],
        "sentence": sentence,
        "planned_to": answered.planned_to.isoformat(),
        "order_by": first.delivery.order_by.isoformat() if first else None,
        "supplier": (
            kitchen.suppliers[first.delivery.supplier].name if first else None
        ),
        "because": [_block(answered, block) for block in promise.blocks],
        "orders": [_order(answered, order) for order in promise.orders],
        "ingredients_cost": money(promise.ingredients_cost),
        "without_price": [kitchen.nodes.names[node] for node in promise.without_price],
        "short": [_short(answered, row) for row in promise.shorts],
        "below_safety": [_below_safety(answered, row) for row in promise.below_safety],
        "hurts": list(promise.all_hurt_cakes),
    }


def _block(answered: CakeAnswer, block: Block) -> dict[str, Any]:
    return {
        **_item(answered, block.node),
        "date": block.on.isoformat(),
        "cause": CAUSES[block.cause],
        "short_by": amount(block.short_base),
        "days_late": block.days_late,
    }


def _order(answered: CakeAnswer, order: MoreOrder) -> dict[str, Any]:
    waits = answered.waiting_for(order.delivery)
    return {
        "supplier": answered.kitchen.suppliers[order.delivery.supplier].name,
        "order_by": order.delivery.order_by.isoformat(),
        "deliver_on": order.delivery.deliver_on.isoformat(),
        "is_new": order.is_new,
        "for_later_cakes": not order.is_for_cake,
        "waiting": waits.reference if waits else None,
        "lines": [_line(answered, line) for line in order.lines],
        "more_fee": money(order.more_fee),
        "filling_cost": money(order.filling_cost),
        "more_cost": money(order.more_cost),
        "under_minimum": money(order.under_minimum),
    }


def _line(answered: CakeAnswer, line: MoreLine) -> dict[str, Any]:
    return {
        "item": answered.kitchen.nodes.names[line.pack.node],
        "code": line.pack.code,
        "pack": line.pack.label,
        "packs": line.packs,
        "more_packs": line.more_packs,
        "more_cost": money(line.more_cost),
    }


def _short(answered: CakeAnswer, row: MoreShort) -> dict[str, Any]:
    return {
        **_item(answered, row.node),
        "first_date": row.first_on.isoformat(),
        "more_short": amount(row.more_base),
        "short_by": amount(row.short_base),
        "cakes": list(row.cakes),
    }


def _below_safety(answered: CakeAnswer, row: BelowSafety) -> dict[str, Any]:
    return {
        **_item(answered, row.node),
        "first_date": row.first_on.isoformat(),
        "below_by": amount(row.gap_base),
        "more_below": amount(row.more_base),
        "made_good": row.is_made_good,
    }


def _item(answered: CakeAnswer, node: int) -> dict[str, Any]:
    nodes = answered.kitchen.nodes
    return {"item": nodes.names[node], "unit": nodes.units[node]}
