"""Lines that somebody has decided on: approved orders, and drafts changed by hand.

They are lines of their own delivery, whatever else comes with it, as long as that
delivery can still be ordered. Plans buy only what they leave open.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from planning.engine.costing import (
    NOTHING,
    delivery_fee,
    lacking_to_minimum,
    line_cost,
)
from planning.engine.deliveries import PossibleDelivery, can_come, order_by_moment
from planning.engine.kitchen import DecidedLine, Kitchen, NodeKind, PackTerms, Window
from planning.engine.plan import SuggestedLine, SuggestedOrder
from planning.engine.plan_warnings import NotCounted, UnderMinimum, WhyNot


@dataclass(frozen=True, slots=True)
class ComingLine:
    """A decided line, with the delivery that can still bring it."""

    line: DecidedLine
    pack: PackTerms
    delivery: PossibleDelivery

    @property
    def bought(self) -> tuple[PackTerms, int, PossibleDelivery]:
        """So many packs on the delivery."""
        return self.pack, self.line.packs, self.delivery


def coming_lines(
    kitchen: Kitchen, deliveries: Iterable[PossibleDelivery]
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
    kitchen: Kitchen, window: Window, deliveries: Iterable[PossibleDelivery]
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


def waiting_order(
    kitchen: Kitchen, deliveries: Iterable[PossibleDelivery], order: SuggestedOrder
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
    """Return decided lines as orders by themselves, by day; their lines say no why."""
    by_delivery: dict[PossibleDelivery, list[ComingLine]] = defaultdict(list)
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
    cost = line_cost(charged, packs)
    return SuggestedLine(coming.pack, packs, charged.price_at(packs), cost, ())


def small_orders(
    kitchen: Kitchen, orders: Iterable[SuggestedOrder]
) -> tuple[UnderMinimum, ...]:
    """Return every order that stays under its minimum.

    Only one that somebody has decided on is kept all the same.
    """
    return tuple(
        UnderMinimum(order.supplier, order.deliver_on, supplier.minimum_order)
        for order in orders
        if lacking_to_minimum(
            supplier := kitchen.suppliers[order.supplier], order.goods_cost
        )
    )


def not_counted(
    kitchen: Kitchen, window: Window, deliveries: Sequence[PossibleDelivery]
) -> tuple[NotCounted, ...]:
    """Return every decided order that cannot come, once for each reason.

    What can come after the window is not among them.
    """
    coming = {each.line for each in coming_lines(kitchen, deliveries)}
    found: dict[NotCounted, None] = {}  # an order's lines mostly have one reason
    for line in kitchen.decided:
        if line not in coming and (why := _why_not(kitchen, window, line)):
            cut_off = _cut_off(kitchen, line) if why is WhyNot.PAST_CUT_OFF else None
            found[
                NotCounted(
                    line.reference,
                    line.is_approved,
                    line.supplier,
                    line.deliver_on,
                    why,
                    cut_off,
                )
            ] = None
    return tuple(found)


def _why_not(kitchen: Kitchen, window: Window, line: DecidedLine) -> WhyNot | None:
    """Return why a line cannot come; None where it can, if after the window."""
    if kitchen.suppliers[line.supplier].is_shop:
        return WhyNot.SHOPPING_LIST
    if line.deliver_on < window.from_on:
        return WhyNot.NEVER_SENT
    if _cut_off(kitchen, line).astimezone(UTC) < window.as_of.astimezone(UTC):
        return WhyNot.PAST_CUT_OFF
    if not can_come(kitchen, line.supplier, line.deliver_on):
        return WhyNot.NO_DELIVERY
    return None if line.pack_id in _sold_packs(kitchen) else WhyNot.NOT_SOLD


def _cut_off(kitchen: Kitchen, line: DecidedLine) -> datetime:
    """Return the last moment to order a line, in the bakery's zone."""
    zone = ZoneInfo(kitchen.bakery.zone_key)
    return order_by_moment(kitchen.suppliers[line.supplier], line.deliver_on, zone)


def _sold_packs(kitchen: Kitchen) -> Mapping[int, PackTerms]:
    """Return by id the packs that can still be bought, of items that are in use."""
    nodes = kitchen.nodes
    return {
        pack.pack_id: pack
        for pack in kitchen.packs
        if nodes.kind[pack.node] == NodeKind.BOUGHT and not nodes.retired[pack.node]
    }
