"""Which orders, not sent yet, ask for too much once a change of the bake plan is made.

Only what the change itself makes too much: judged by what the usual rule suggests
before it and after it. Best orders may go by other deliveries and in other packs; of
an item on these, what is drafted is weighed against all that is suggested.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from planning.engine.kitchen import Kitchen, PackTerms, SupplierDay
from planning.engine.plan import SuggestedOrder
from planning.models import Order

PacksByTruck = Mapping[SupplierDay, Mapping[int, int]]  # by pack id
Waiting = Mapping[SupplierDay, Order]
WHOLE_PACK_TOLERANCE = 1e-6  # sums of sizes carry float noise


@dataclass(frozen=True, slots=True)
class TooLarge:
    """A line of an order that is not sent yet, and how many packs are enough."""

    order: Order
    pack: PackTerms
    packs: int
    enough: int


def packs_by_truck(orders: Iterable[SuggestedOrder], kitchen: Kitchen) -> PacksByTruck:
    """Return the packs of each kind that are suggested, by supplier and day."""
    suppliers = kitchen.suppliers
    return {
        SupplierDay(suppliers[order.supplier].supplier_id, order.deliver_on): {
            line.pack.pack_id: line.packs for line in order.lines
        }
        for order in orders
    }


def too_large(
    waiting: Waiting, was: PacksByTruck, now: PacksByTruck, kitchen: Kitchen
) -> Iterator[TooLarge]:
    """Yield the lines that ask for too much, by the day of their delivery.

    A pack of which as much is suggested as before, on this order or on all together,
    is left alone. No query: the orders come with their lines.
    """
    pack_by_id = {pack.pack_id: pack for pack in kitchen.packs}
    enough = _enough_as_usual(was, now)
    elsewhere = _enough_elsewhere(waiting, was, now, pack_by_id)
    for truck, order in sorted(waiting.items(), key=lambda pair: pair[0].deliver_on):
        enough_here = {**elsewhere.get(truck, {}), **enough.get(truck, {})}
        for line in order.lines.all():
            pack, packs = pack_by_id.get(line.pack_id), enough_here.get(line.pack_id)
            if pack is not None and packs is not None and packs < line.packs:
                yield TooLarge(order, pack, line.packs, packs)


def _enough_as_usual(was: PacksByTruck, now: PacksByTruck) -> PacksByTruck:
    """Return of what fewer packs are suggested than before, and how many."""
    fewer = _in_all(was) - _in_all(now)
    found: dict[SupplierDay, dict[int, int]] = {}
    for truck, packs_by_id in was.items():
        after = now.get(truck, {})
        found[truck] = {
            pack_id: after.get(pack_id, 0)
            for pack_id, packs in packs_by_id.items()
            if pack_id in fewer and after.get(pack_id, 0) < packs
        }
    return found


def _enough_elsewhere(
    waiting: Waiting,
    was: PacksByTruck,
    now: PacksByTruck,
    pack_by_id: Mapping[int, PackTerms],
) -> PacksByTruck:
    """Return how many packs are enough of items that stand on no usual delivery.

    Too much is what is drafted beyond all that is suggested after the change, at most
    as much as the change saves; it is taken off what comes last.
    """
    over_base = _over_base_by_node(waiting, was, now, pack_by_id)
    found: dict[SupplierDay, dict[int, int]] = {}
    last_first = sorted(waiting, key=lambda truck: truck.deliver_on, reverse=True)
    for truck in last_first:
        for line in waiting[truck].lines.all():
            pack = pack_by_id.get(line.pack_id)
            if pack is None or pack.node not in over_base:
                continue
            most = int(over_base[pack.node] / pack.size_base + WHOLE_PACK_TOLERANCE)
            fewer = min(most, line.packs)
            over_base[pack.node] -= fewer * pack.size_base
            if fewer:
                found.setdefault(truck, {})[line.pack_id] = line.packs - fewer
    return found


def _over_base_by_node(
    waiting: Waiting,
    was: PacksByTruck,
    now: PacksByTruck,
    pack_by_id: Mapping[int, PackTerms],
) -> dict[int, float]:
    drafted: Counter[int] = Counter()
    usual = set()
    for truck, order in waiting.items():
        for line in order.lines.all():
            drafted[line.pack_id] += line.packs
            if line.pack_id in was.get(truck, {}) and line.pack_id in pack_by_id:
                usual.add(pack_by_id[line.pack_id].node)
    drafted_base, was_base, now_base = (
        _base_by_node(packs, pack_by_id)
        for packs in (drafted, _in_all(was), _in_all(now))
    )
    over_base = {
        node: min(base, was_base.get(node, 0.0)) - now_base.get(node, 0.0)
        for node, base in drafted_base.items()
        if node not in usual
    }
    return {node: base for node, base in over_base.items() if base > 0}


def _base_by_node(
    packs_by_id: Mapping[int, int], pack_by_id: Mapping[int, PackTerms]
) -> dict[int, float]:
    found: dict[int, float] = {}
    for pack_id, packs in packs_by_id.items():
        if pack := pack_by_id.get(pack_id):
            more_base = packs * float(pack.size_base)
            found[pack.node] = found.get(pack.node, 0.0) + more_base
    return found


def _in_all(by_truck: PacksByTruck) -> Counter[int]:
    """Return how many packs of each kind are suggested, on all orders together."""
    total: Counter[int] = Counter()
    for packs in by_truck.values():
        total.update(packs)
    return total
