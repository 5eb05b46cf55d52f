"""Lines that somebody has decided on: approved orders, and drafts changed by hand.

They are lines of their own delivery, whatever else comes with it, as long as that
delivery can still be ordered. Plans buy only what they leave open.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from planning.engine.costing import (
    NOTHING,
    delivery_fee,
    lacking_to_minimum,
    line_cost,
)
from planning.engine.deliveries import Delivery, can_come, order_by_moment
from planning.engine.kitchen import DecidedLine, Kitchen, NodeKind, PackTerms, Window
from planning.engine.plan import SuggestedLine, SuggestedOrder
from planning.engine.words import day_words, moment_words
from stock.wording.money_words import money_words


@dataclass(frozen=True, slots=True)
class ComingLine:
    """A decided line, with the delivery that can still bring it."""

    line: DecidedLine
    pack: PackTerms
    delivery: Delivery

    @property
    def bought(self) -> tuple[PackTerms, int, Delivery]:
        """So many packs on the delivery."""
        return self.pack, self.line.packs, self.delivery


def coming_lines(
    kitchen: Kitchen, deliveries: Iterable[Delivery]
) -> tuple[ComingLine, ...]:
    """Return the decided lines that some deliveries bring, in their order.

    Without those of packs that are sold no more, and of retired items.
    """
    if not kitchen.decided:
        return ()
    pack_of = _sold_packs(kitchen)
    delivery_of = {each.key: each for each in deliveries}
    return tuple(
        ComingLine(line, pack_of[line.pack_id], delivery)
        for line in kitchen.decided
        if line.pack_id in pack_of
        and (delivery := delivery_of.get(line.delivery_key)) is not None
    )


def decided_after_base(
    kitchen: Kitchen, window: Window, deliveries: Iterable[Delivery]
) -> npt.NDArray[np.float64]:
    """Return what decided lines bring after each day: a row a node, a column a day.

    What comes after the window counts as long as it can still be ordered.
    """
    by_day = np.zeros((len(kitchen.nodes.ids), window.days + 1))
    for coming in coming_lines(kitchen, deliveries):
        day = (coming.delivery.deliver_on - window.from_on).days
        by_day[coming.pack.node, day] += coming.line.packs * coming.pack.size_base
    pack_of = _sold_packs(kitchen)
    for line in kitchen.decided:
        is_after = line.deliver_on > window.to_on and line.pack_id in pack_of
        if is_after and not _why_not(kitchen, window, line):
            pack = pack_of[line.pack_id]
            by_day[pack.node, -1] += line.packs * pack.size_base
    return np.cumsum(by_day[:, :0:-1], axis=1)[:, ::-1]


def decided_words(coming: ComingLine, packs_words: str) -> str:
    """Return which order brings a decided line; `packs_words` are its packs."""
    day = day_words(coming.delivery.deliver_on)
    return f"{_order_words(coming.line)} brings {packs_words} of it on {day}."


def waiting_order(
    kitchen: Kitchen, deliveries: Iterable[Delivery], order: SuggestedOrder
) -> DecidedLine | None:
    """Return a line of the order that waits and brings all of a suggested one."""
    mine = [
        each.line
        for each in coming_lines(kitchen, deliveries)
        if each.line.delivery_key == order.delivery_key
    ]
    packs: dict[int, int] = defaultdict(int)
    for each in mine:
        packs[each.pack_id] += each.packs
    is_all = all(line.packs <= packs[line.pack.pack_id] for line in order.lines)
    return mine[0] if mine and is_all else None


def decided_orders(
    kitchen: Kitchen, coming: Iterable[ComingLine]
) -> tuple[SuggestedOrder, ...]:
    """Return decided lines as orders by themselves, by day."""
    by_delivery: dict[Delivery, list[ComingLine]] = defaultdict(list)
    for each in coming:
        by_delivery[each.delivery].append(each)
    found = []
    for delivery, group in by_delivery.items():
        lines = tuple(_line(each) for each in group)
        goods = sum((line.line_cost for line in lines), NOTHING)
        fee = delivery_fee(kitchen.suppliers[delivery.supplier], goods)
        found.append(
            SuggestedOrder(
                delivery.supplier,
                delivery.order_by,
                delivery.deliver_on,
                lines,
                goods,
                fee,
            )
        )
    return tuple(sorted(found, key=lambda order: order.deliver_on))


def _line(coming: ComingLine) -> SuggestedLine:
    packs = coming.line.packs
    charged = coming.pack.on(coming.delivery.deliver_on)
    words = f"{_order_words(coming.line)} brings it."
    cost = line_cost(charged, packs)
    return SuggestedLine(coming.pack, packs, charged.price_at(packs), cost, (words,))


def small_order_warnings(
    kitchen: Kitchen, orders: Iterable[SuggestedOrder]
) -> tuple[str, ...]:
    """Return a sentence for every order that stays under its minimum.

    Only one that somebody has decided on is kept all the same.
    """
    found = []
    for order in orders:
        supplier = kitchen.suppliers[order.supplier]
        if lacking_to_minimum(supplier, order.goods_cost):
            minimum = money_words(supplier.minimum_order, kitchen.bakery.currency)
            found.append(
                f"{supplier.name} on {day_words(order.deliver_on)}: what was decided "
                f"on stays under the minimum order of {minimum}. Add something, or "
                f"ask {supplier.name} whether it comes all the same."
            )
    return tuple(found)


def uncounted_warnings(
    kitchen: Kitchen, window: Window, deliveries: Sequence[Delivery]
) -> tuple[str, ...]:
    """Return a sentence for every decided order, or line of one, that cannot come.

    What can come after the window has none.
    """
    coming = {each.line for each in coming_lines(kitchen, deliveries)}
    found: dict[str, None] = {}  # an order's lines mostly have one reason
    for line in kitchen.decided:
        if line not in coming:
            words = _why_not(kitchen, window, line)
            if words:
                found[words] = None
    return tuple(found)


def _why_not(kitchen: Kitchen, window: Window, line: DecidedLine) -> str:
    """Return why a line cannot come; blank where it can, if after the window."""
    supplier = kitchen.suppliers[line.supplier]
    order, on = _order_words(line), day_words(line.deliver_on)
    what = f"{order}, from {supplier.name} for {on},"
    if supplier.is_shop:
        return f"{what} is a shopping list: the plan does not count on it."
    if line.deliver_on < window.from_on:
        return f"{what} was never sent. The plan does not count on it."
    if _is_past(kitchen, window, line):
        zone = ZoneInfo(kitchen.bakery.zone_key)
        order_by = moment_words(order_by_moment(supplier, line.deliver_on, zone))
        return (
            f"{what} was not sent by its cut-off, {order_by}. The plan does not count "
            f"on it. {_way_out(line)}."
        )
    if not can_come(kitchen, line.supplier, line.deliver_on):
        return (
            f"{what} cannot come: no delivery is possible that day. The plan does not "
            "count on it."
        )
    if line.pack_id in _sold_packs(kitchen):
        return ""
    return (
        f"{what} asks for a pack that is sold no more. The plan does not count on that "
        "line."
    )


def _way_out(line: DecidedLine) -> str:
    approve = "" if line.is_approved else "approve it and "
    return f"If it was sent, {approve}mark it as sent; else cancel it"


def _order_words(line: DecidedLine) -> str:
    if line.is_approved:
        return f"Approved order {line.reference}"
    return f"Draft {line.reference} (changed by hand)"


def _is_past(kitchen: Kitchen, window: Window, line: DecidedLine) -> bool:
    """Whether the cut-off of a line's delivery is past."""
    zone = ZoneInfo(kitchen.bakery.zone_key)
    supplier = kitchen.suppliers[line.supplier]
    order_by = order_by_moment(supplier, line.deliver_on, zone)
    return order_by.astimezone(UTC) < window.as_of.astimezone(UTC)


def _sold_packs(kitchen: Kitchen) -> Mapping[int, PackTerms]:
    """Return by id the packs that can still be bought, of items that are in use."""
    nodes = kitchen.nodes
    return {
        pack.pack_id: pack
        for pack in kitchen.packs
        if nodes.kind[pack.node] == NodeKind.BOUGHT and not nodes.retired[pack.node]
    }
