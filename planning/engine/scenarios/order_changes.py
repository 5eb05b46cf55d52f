"""How the orders of one plan differ from those of another, item by item."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime

from planning.engine.kitchen import PackTerms
from planning.engine.plan import SuggestedOrder


@dataclass(frozen=True, slots=True)
class Buy:
    """So many packs of one kind on one delivery."""

    supplier: int
    deliver_on: date
    order_by: datetime
    pack: PackTerms
    packs: int

    @property
    def key(self) -> tuple[int, date, int, int]:
        """What makes two the same, whatever a pack costs."""
        return self.supplier, self.deliver_on, self.pack.pack_id, self.packs


@dataclass(frozen=True, slots=True)
class OrderChange:
    """What is bought of one item in the one plan, and instead in the other."""

    node: int
    was: tuple[Buy, ...]  # by delivery; empty where it was not bought
    would: tuple[Buy, ...]

    @property
    def sides(self) -> tuple[tuple[Buy, ...], tuple[Buy, ...]]:
        """What is bought in the one plan, and in the other."""
        return self.was, self.would

    @property
    def first_at(self) -> datetime:
        """The first cut-off that it touches, in UTC."""
        return min(buy.order_by for buy in (*self.was, *self.would)).astimezone(UTC)


def order_changes(
    before: Iterable[SuggestedOrder], after: Iterable[SuggestedOrder]
) -> tuple[OrderChange, ...]:
    """Return the items that are bought otherwise, by the first cut-off it touches.

    Otherwise means another day, supplier, pack or number of packs; prices alone do
    not count.
    """
    was, would = _by_node(before), _by_node(after)
    changes = [
        OrderChange(node, tuple(was.get(node, ())), tuple(would.get(node, ())))
        for node in was.keys() | would.keys()
        if [buy.key for buy in was.get(node, ())]
        != [buy.key for buy in would.get(node, ())]
    ]
    return tuple(sorted(changes, key=lambda change: (change.first_at, change.node)))


def _by_node(orders: Iterable[SuggestedOrder]) -> dict[int, list[Buy]]:
    found: dict[int, list[Buy]] = defaultdict(list)
    for order in sorted(orders, key=lambda order: (order.deliver_on, order.supplier)):
        for line in sorted(order.lines, key=lambda line: line.pack.pack_id):
            found[line.pack.node].append(
                Buy(
                    order.supplier,
                    order.deliver_on,
                    order.order_by,
                    line.pack,
                    line.packs,
                )
            )
    return dict(found)
