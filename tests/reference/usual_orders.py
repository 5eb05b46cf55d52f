"""What the buyer's usual rule would order, and what that costs.

For each short item: its preferred (else cheapest per base unit) pack, at the
last delivery in time for the shortfall, enough packs to end at par.
"""

import math
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from tests.reference.explosion import FORGIVEN
from tests.reference.kitchen import Item, Kitchen, Pack, Supplier
from tests.reference.projection import ItemPlan
from tests.reference.shortfalls import (
    Delivery,
    Shortfall,
    Window,
    arrives_in_time,
    deliveries,
    due_later,
    usual_pack,
)


@dataclass
class UsualLine:
    pack: Pack
    item: Item
    packs: int

    @property
    def price(self) -> Fraction:
        reached = [price for least, price in self.pack.breaks if self.packs >= least]
        return reached[-1] if reached else self.pack.price

    @property
    def amount(self) -> Decimal:
        return cents(self.packs * self.price)


@dataclass
class UsualOrder:
    delivery: Delivery
    lines: list[UsualLine] = field(default_factory=list)

    @property
    def goods(self) -> Decimal:
        return sum((line.amount for line in self.lines), Decimal("0.00"))

    @property
    def fee(self) -> Decimal:
        supplier = self.delivery.supplier
        if supplier.free_from is not None and self.goods >= supplier.free_from:
            return Decimal("0.00")
        return cents(supplier.delivery_fee)


def order(
    kitchen: Kitchen,
    plans: list[ItemPlan],
    shortfalls: list[Shortfall],
    window: Window,
) -> list[UsualOrder]:
    plan_by_item = {plan.item.name: plan for plan in plans}
    orders: dict[tuple[str, date], UsualOrder] = {}
    for shortfall in shortfalls:
        closing = plan_by_item[shortfall.item.name].days[-1].closing
        later = due_later(kitchen, shortfall.item, window.end)
        target = shortfall.item.par
        if target is None:
            target = shortfall.item.safety or Fraction(0)
        placed = place(kitchen, shortfall, target - closing - later, window)
        if placed:
            delivery, line = placed
            key = (delivery.supplier.name, delivery.deliver_on)
            orders.setdefault(key, UsualOrder(delivery)).lines.append(line)
    for supplier in kitchen.suppliers.values():
        of_supplier = [o for o in orders.values() if o.delivery.supplier is supplier]
        meet_minimums(sorted(of_supplier, key=lambda o: o.delivery.deliver_on))
    full = [order for order in orders.values() if order.lines]
    return sorted(
        full, key=lambda o: (o.delivery.deliver_on, o.delivery.supplier.name.casefold())
    )


def place(
    kitchen: Kitchen, shortfall: Shortfall, missing: Fraction, window: Window
) -> tuple[Delivery, UsualLine] | None:
    item = shortfall.item
    pack = usual_pack(kitchen, item)
    if pack is None:
        return None
    packs = whole_packs(pack, missing)
    if not packs:
        return None
    supplier = kitchen.suppliers[pack.supplier.casefold()]
    delivery = usual_delivery(kitchen, supplier, shortfall, window)
    return delivery and (delivery, UsualLine(pack, item, packs))


def usual_delivery(
    kitchen: Kitchen, supplier: Supplier, shortfall: Shortfall, window: Window
) -> Delivery | None:
    """The last in time; else the first there is."""
    possible = list(deliveries(kitchen, supplier, window))
    in_time = [
        delivery
        for delivery in possible
        if arrives_in_time(
            delivery, shortfall.item, shortfall.kind, shortfall.first_date
        )
    ]
    return in_time[-1] if in_time else next(iter(possible), None)


def whole_packs(pack: Pack, amount: Fraction) -> int:
    packs = math.ceil(amount / pack.holds - FORGIVEN)
    return allowed(pack, packs) if packs > 0 else 0


def allowed(pack: Pack, packs: int) -> int:
    """So many packs, raised to what the supplier sells."""
    return math.ceil(max(packs, pack.minimum_packs) / pack.multiple) * pack.multiple


def meet_minimums(orders: list[UsualOrder]) -> None:
    """Bring later lines of one supplier forward, else buy more of what is there."""
    for number, early in enumerate(orders):
        minimum = early.delivery.supplier.minimum_order
        if not early.lines:
            continue
        for later in orders[number + 1 :]:
            if early.goods < minimum:
                bring_forward(early, later)
        while early.goods < minimum and any(line.price for line in early.lines):
            for line in early.lines:
                if early.goods < minimum:
                    line.packs += line.pack.multiple


def bring_forward(early: UsualOrder, later: UsualOrder) -> None:
    for line in later.lines:
        same = next((own for own in early.lines if own.pack is line.pack), None)
        if same is None:
            early.lines.append(line)
        else:
            same.packs = allowed(same.pack, same.packs + line.packs)
    later.lines = []


def cents(amount: Fraction) -> Decimal:
    exact = Decimal(amount.numerator) / Decimal(amount.denominator)
    return exact.quantize(Decimal("0.01"), ROUND_HALF_UP)
