"""Found orders as plain JSON values, and back: they wait in the database.

What follows from the kitchen (prices, fees, cut-offs) is not kept. It is worked out
again for the very kitchen that the orders were found for.
"""

from collections.abc import Mapping, Sequence
from datetime import date
from math import inf, isfinite
from typing import Any

from planning.engine.costing import NOTHING, delivery_fee, line_cost
from planning.engine.deliveries import Delivery
from planning.engine.kitchen import Kitchen, PackTerms
from planning.engine.plan import (
    Proof,
    Purchasing,
    SuggestedLine,
    SuggestedOrder,
)

Found = dict[str, Any]


def found_as_json(kitchen: Kitchen, purchasing: Purchasing) -> Found:
    """Return orders as dicts, lists, numbers and texts."""
    proof = purchasing.proof
    return {
        "orders": [
            {
                "supplier": kitchen.suppliers[order.supplier].supplier_id,
                "deliver_on": order.deliver_on.isoformat(),
                "lines": [
                    {
                        "pack": line.pack.pack_id,
                        "packs": line.packs,
                        "because": list(line.because),
                    }
                    for line in order.lines
                ],
            }
            for order in purchasing.orders
        ],
        "warnings": list(purchasing.warnings),
        "proof": proof.status,
        "gap": proof.gap if isfinite(proof.gap) else None,
    }


def found_from_json(
    kitchen: Kitchen,
    deliveries: Sequence[Delivery],
    usual: Purchasing,
    found: Mapping[str, Any],
) -> Purchasing:
    """Return orders from JSON, for the kitchen that they were found for."""
    pack_of = {pack.pack_id: pack for pack in kitchen.packs}
    truck_of = {
        (kitchen.suppliers[truck.supplier].supplier_id, truck.deliver_on): truck
        for truck in deliveries
    }
    gap = found["gap"]
    return Purchasing(
        orders=tuple(
            _order(
                kitchen,
                truck_of[order["supplier"], date.fromisoformat(order["deliver_on"])],
                tuple(_line(pack_of[line["pack"]], line) for line in order["lines"]),
            )
            for order in found["orders"]
        ),
        usual_total=usual.usual_total,
        proof=Proof(found["proof"], inf if gap is None else gap),
        warnings=tuple(found["warnings"]),
    )


def _order(
    kitchen: Kitchen, truck: Delivery, lines: tuple[SuggestedLine, ...]
) -> SuggestedOrder:
    goods = sum((line.line_cost for line in lines), NOTHING)
    return SuggestedOrder(
        supplier=truck.supplier,
        order_by=truck.order_by,
        deliver_on=truck.deliver_on,
        lines=lines,
        goods_cost=goods,
        fee=delivery_fee(kitchen.suppliers[truck.supplier], goods),
    )


def _line(pack: PackTerms, line: Mapping[str, Any]) -> SuggestedLine:
    packs = line["packs"]
    return SuggestedLine(
        pack=pack,
        packs=packs,
        price=pack.price_at(packs),
        line_cost=line_cost(pack, packs),
        because=tuple(line["because"]),
    )
