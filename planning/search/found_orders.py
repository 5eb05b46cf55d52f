"""Found orders as plain JSON values, and back: they wait in the database.

What follows from the kitchen (prices, fees, cut-offs) is not kept. It is worked out
again for the very kitchen that the orders were found for; of those that were sent since
only the rest is still to be ordered.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from decimal import Decimal
from math import inf, isfinite
from typing import Any

from planning.engine.costing import NOTHING, delivery_fee, line_cost
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import Kitchen, PackTerms, SupplierDay
from planning.engine.plan import (
    Proof,
    Purchasing,
    SuggestedLine,
    SuggestedOrder,
)
from planning.engine.reasons import StoredSentence, said_words

FoundJson = dict[str, Any]
Decided = tuple[int, date, int]  # as of a SupplierDay, and a pack's id


def found_as_json(kitchen: Kitchen, purchasing: Purchasing) -> FoundJson:
    """Return orders as dicts, lists, numbers and texts.

    Their reasons and warnings are `StoredSentence`: nobody could say them again later.
    """
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
                        "because": [said_words(each) for each in line.because],
                    }
                    for line in order.lines
                ],
            }
            for order in purchasing.orders
        ],
        "open": sorted(set(kitchen.open_orders.references)),
        "decided": [
            [supplier_id, deliver_on.isoformat(), pack_id, packs]
            for (supplier_id, deliver_on, pack_id), packs in _decided(kitchen).items()
        ],
        "warnings": [said_words(each) for each in purchasing.warnings],
        "proof": proof.status,
        "gap": proof.gap if isfinite(proof.gap) else None,
    }


def sent_since(kitchen: Kitchen, found: Mapping[str, Any]) -> dict[SupplierDay, str]:
    """Return which found orders are on their way by now, by the order's reference.

    An open order is a found one if the same supplier brings the same on the same day,
    no more and no less, and if it was not open before the search.
    """
    contents: dict[str, list[tuple[int, date, int, float]]] = defaultdict(list)
    lines = kitchen.open_orders
    for reference, supplier, node, amount_base, due_on in zip(
        lines.references,
        lines.supplier.tolist(),
        lines.node.tolist(),
        lines.amount_base.tolist(),
        lines.due_on,
        strict=True,
    ):
        supplier_id = kitchen.suppliers[supplier].supplier_id
        contents[reference].append((supplier_id, due_on, node, amount_base))
    reference_of = {
        tuple(sorted(content)): reference
        for reference, content in sorted(contents.items())
        if reference not in found["open"]
    }
    pack_of = _packs(kitchen)
    return {
        _supplier_day(order): reference_of[content]
        for order in found["orders"]
        if (content := _content(pack_of, order)) in reference_of
    }


def keeps_decided(
    kitchen: Kitchen, found: Mapping[str, Any], sent: Collection[SupplierDay]
) -> bool:
    """Whether found orders are still the answer to what people have decided on.

    They are while all that was decided on then still is, or was sent as it was found,
    and nothing else has been than lines of the found orders themselves.
    """
    then = {
        (supplier_id, date.fromisoformat(day), pack_id): packs
        for supplier_id, day, pack_id, packs in found.get("decided", ())
    }
    most = {
        (*_supplier_day(order), line["pack"]): line["packs"]
        for order in found["orders"]
        for line in order["lines"]
    }
    now = _decided(kitchen)
    return all(
        key[:2] in sent
        or now.get(key, 0) == then.get(key, 0)
        or then.get(key, 0) < now.get(key, 0) <= most.get(key, 0)
        for key in then.keys() | now.keys()
    )


def _decided(kitchen: Kitchen) -> dict[Decided, int]:
    """Return how many packs people have decided on."""
    found: dict[Decided, int] = defaultdict(int)
    for line in kitchen.decided:
        supplier_id = kitchen.suppliers[line.supplier].supplier_id
        found[supplier_id, line.deliver_on, line.pack_id] += line.packs
    return found


def found_from_json(
    kitchen: Kitchen,
    deliveries: Sequence[PossibleDelivery],
    usual: Purchasing,
    found: Mapping[str, Any],
    sent: Collection[SupplierDay] = (),
) -> Purchasing | None:
    """Return orders from JSON, for the kitchen that they were found for.

    Without those that were sent; None if another one can no longer be ordered.
    """
    pack_of = _packs(kitchen)
    place_of = {
        SupplierDay(
            kitchen.suppliers[delivery.supplier].supplier_id, delivery.deliver_on
        ): place
        for place, delivery in enumerate(deliveries)
    }
    waiting = [order for order in found["orders"] if _supplier_day(order) not in sent]
    if any(_supplier_day(order) not in place_of for order in waiting):
        return None
    orders = tuple(
        _order(
            kitchen,
            deliveries[place_of[_supplier_day(order)]],
            _lines(pack_of, order),
        )
        for order in waiting
    )
    return Purchasing(
        orders=orders,
        usual_total=usual.usual_total,
        proof=Proof(found["proof"], _gap(kitchen, found, orders)),
        warnings=tuple(map(StoredSentence, found["warnings"])),
    )


def _gap(
    kitchen: Kitchen, found: Mapping[str, Any], waiting: Sequence[SuggestedOrder]
) -> float:
    """Return the gap of the orders that wait, in parts of what these cost.

    The most that better orders would save is the same money, whatever was sent.
    """
    gap = found["gap"]
    if gap is None:
        return inf
    pack_of = _packs(kitchen)
    terms_of = {terms.supplier_id: terms for terms in kitchen.suppliers}
    cost = NOTHING
    for order in found["orders"]:
        goods = _goods(_lines(pack_of, order))
        cost += goods + delivery_fee(terms_of[order["supplier"]], goods)
    waiting_cost = sum((order.total_cost for order in waiting), NOTHING)
    return float(gap) * float(cost / waiting_cost) if waiting_cost else 0.0


def _supplier_day(order: Mapping[str, Any]) -> SupplierDay:
    return SupplierDay(order["supplier"], date.fromisoformat(order["deliver_on"]))


def _content(
    pack_of: Mapping[int, PackTerms], order: Mapping[str, Any]
) -> tuple[tuple[int, date, int, float], ...]:
    """Return what a found order brings; nothing that is sold no more."""
    return tuple(
        sorted(
            (*_supplier_day(order), pack.node, line["packs"] * pack.size_base)
            for line in order["lines"]
            if (pack := pack_of.get(line["pack"])) is not None
        )
    )


def _packs(kitchen: Kitchen) -> dict[int, PackTerms]:
    return {pack.pack_id: pack for pack in kitchen.packs}


def _lines(
    pack_of: Mapping[int, PackTerms], order: Mapping[str, Any]
) -> tuple[SuggestedLine, ...]:
    deliver_on = date.fromisoformat(order["deliver_on"])
    return tuple(
        _line(pack_of[line["pack"]], line, deliver_on) for line in order["lines"]
    )


def _goods(lines: Sequence[SuggestedLine]) -> Decimal:
    return sum((line.line_cost for line in lines), NOTHING)


def _order(
    kitchen: Kitchen, truck: PossibleDelivery, lines: tuple[SuggestedLine, ...]
) -> SuggestedOrder:
    goods = _goods(lines)
    return SuggestedOrder(
        supplier=truck.supplier,
        order_by=truck.order_by,
        deliver_on=truck.deliver_on,
        lines=lines,
        goods_cost=goods,
        fee=delivery_fee(kitchen.suppliers[truck.supplier], goods),
    )


def _line(pack: PackTerms, line: Mapping[str, Any], deliver_on: date) -> SuggestedLine:
    packs, charged = line["packs"], pack.on(deliver_on)
    return SuggestedLine(
        pack=pack,
        packs=packs,
        price=charged.price_at(packs),
        line_cost=line_cost(charged, packs),
        because=tuple(map(StoredSentence, line["because"])),
    )
