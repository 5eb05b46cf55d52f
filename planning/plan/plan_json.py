"""A plan as plain JSON values: the one place where its figures are rounded.

Amounts are numbers in base units rounded to 6 places, dates and moments are ISO 8601,
money is text with two places. Lists are sorted by date, then name.
"""

from collections.abc import Iterable
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from math import ceil, isfinite
from typing import Any
from zoneinfo import ZoneInfo

from planning.engine.kitchen import Kitchen
from planning.engine.plan import (
    Plan,
    Remedy,
    Shortfall,
    SuggestedLine,
    SuggestedOrder,
)
from planning.plan.planner import Planned
from stock.wording.money_words import CENT

AMOUNT_PLACES = 6
ROUND_UP_TOLERANCE_STEPS = 1e-6  # of the last place: float noise is no gap


def plan_as_json(planned: Planned) -> dict[str, Any]:
    """Return the whole plan as dicts, lists, numbers and texts."""
    kitchen, plan = planned.kitchen, planned.plan
    zone = ZoneInfo(kitchen.bakery.zone_key)
    purchasing = plan.purchasing
    return {
        "as_of": plan.window.as_of.astimezone(zone).isoformat(),
        "from": plan.window.from_on.isoformat(),
        "to": plan.window.to_on.isoformat(),
        "currency": kitchen.bakery.currency,
        "demand": _by_date_then_name(_demand(kitchen, plan), "item"),
        "making": _by_date_then_name(_making(kitchen, plan), "recipe"),
        "projection": _by_date_then_name(_projection(kitchen, plan), "item"),
        "shortfalls": [_shortfall(kitchen, row) for row in plan.shortfalls],
        "orders": [_order(planned, order) for order in purchasing.orders],
        "totals": {
            "goods": money(purchasing.goods_cost),
            "fees": money(purchasing.fees),
            "total": money(purchasing.total_cost),
            "usual_total": money(purchasing.usual_total),
            "proof": {
                "status": purchasing.proof.status,
                "gap": gap_rounded_up(purchasing.proof.gap)
                if isfinite(purchasing.proof.gap)
                else None,
            },
        },
        "warnings": [*planned.warnings, *planned.order_warnings],
    }


def gap_rounded_up(gap: float) -> float:
    """Return a gap rounded up to 6 places: it never promises more than is known.

    >>> gap_rounded_up(0.0000401), gap_rounded_up(0.00004), gap_rounded_up(0.0)
    (4.1e-05, 4e-05, 0.0)
    """
    steps = ceil(gap * 10**AMOUNT_PLACES - ROUND_UP_TOLERANCE_STEPS)
    return steps / 10**AMOUNT_PLACES


def amount(value: float) -> float:
    """Return an amount rounded to 6 places, and no negative zero."""
    return round(float(value), AMOUNT_PLACES) + 0.0


def money(value: Decimal) -> str:
    """Return money as text with two places, rounded half up."""
    return str(value.quantize(CENT, rounding=ROUND_HALF_UP))


def _by_date_then_name(
    rows: Iterable[dict[str, Any]], name: str
) -> list[dict[str, Any]]:
    return sorted(rows, key=lambda row: (row["date"], row[name].casefold()))


def _demand(kitchen: Kitchen, plan: Plan) -> Iterable[dict[str, Any]]:
    demand, nodes = plan.demand, kitchen.nodes
    for node, day, amount_base, is_late in zip(
        demand.node.tolist(),
        demand.day.tolist(),
        demand.amount_base.tolist(),
        demand.is_late.tolist(),
        strict=True,
    ):
        yield {
            "item": nodes.names[node],
            "date": date.fromordinal(day).isoformat(),
            "amount": amount(amount_base),
            "unit": nodes.units[node],
            "late": is_late,
        }


def _making(kitchen: Kitchen, plan: Plan) -> Iterable[dict[str, Any]]:
    for row in plan.making:
        yield {
            "recipe": kitchen.nodes.names[row.node],
            "date": row.on.isoformat(),
            "batches": amount(row.batches),
            "amount": amount(row.amount_base),
            "unit": kitchen.nodes.units[row.node],
            "surplus": amount(row.surplus_base),
        }


def _projection(kitchen: Kitchen, plan: Plan) -> Iterable[dict[str, Any]]:
    projection = plan.projection
    for row, node in enumerate(projection.nodes):
        for column, day in enumerate(projection.days):
            yield {
                "item": kitchen.nodes.names[node],
                "date": day.isoformat(),
                "opening": amount(projection.opening_base[row, column]),
                "received": amount(projection.received_base[row, column]),
                "used": amount(projection.used_base[row, column]),
                "expired": amount(projection.expired_base[row, column]),
                "closing": amount(projection.closing_base[row, column]),
                "unit": kitchen.nodes.units[node],
            }


def _shortfall(kitchen: Kitchen, row: Shortfall) -> dict[str, Any]:
    return {
        "item": kitchen.nodes.names[row.node],
        "kind": row.kind.value,
        "first_date": row.first_on.isoformat(),
        "short_by": amount(row.short_base),
        "unit": kitchen.nodes.units[row.node],
        "cakes": list(row.cakes),
        "remedy": _remedy(kitchen, row.remedy),
    }


def _remedy(kitchen: Kitchen, remedy: Remedy | None) -> dict[str, Any] | None:
    if remedy is None:
        return None
    return {
        "supplier": kitchen.suppliers[remedy.supplier].name,
        "order_by": remedy.order_by.isoformat(),
        "deliver_on": remedy.deliver_on.isoformat(),
    }


def _order(planned: Planned, order: SuggestedOrder) -> dict[str, Any]:
    return {
        "supplier": planned.kitchen.suppliers[order.supplier].name,
        "order_by": order.order_by.isoformat(),
        "deliver_on": order.deliver_on.isoformat(),
        "lines": [_order_line(planned, line) for line in order.lines],
        "goods": money(order.goods_cost),
        "fee": money(order.fee),
        "total": money(order.total_cost),
    }


def _order_line(planned: Planned, line: SuggestedLine) -> dict[str, Any]:
    return {
        "item": planned.kitchen.nodes.names[line.pack.node],
        "code": line.pack.code,
        "pack": line.pack.label,
        "packs": line.packs,
        "price": money(line.price),
        "amount": money(line.line_cost),
        "because": list(planned.order_sentences.because(line)),
    }
