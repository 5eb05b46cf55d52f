"""What the buyer's usual rule would order, and what that costs.

In rounds: an item's first day that lacks anything, its preferred (else cheapest per
base unit) pack at the last delivery in time, enough packs for the largest lack up to
the next par day that is in date. Where nothing in date can come in time, goods that are
used first and so leave older stock; else, if asked, a shop. Then the minimum orders.
What was decided on comes first of all, on its own delivery.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from tests.reference.explosion import FORGIVEN, NO_LACK
from tests.reference.kitchen import Item, Kitchen, Pack, use_by
from tests.reference.projection import Bought, Day, ItemPlan, project
from tests.reference.shortfalls import (
    KEPT,
    Delivery,
    Window,
    arrives_in_time,
    deliveries,
    due_later,
    in_time,
    is_delivery_day,
    is_ever_usable,
    par_days,
)
from tests.reference.sparing import is_before, liking, plenty


@dataclass
class UsualLine:
    pack: Pack
    item: Item
    packs: int


@dataclass
class UsualOrder:
    delivery: Delivery
    lines: list[UsualLine] = field(default_factory=list)

    @property
    def goods(self) -> Decimal:
        return sum((self.amount_of(line) for line in self.lines), Decimal("0.00"))

    def price_of(self, line: UsualLine) -> Fraction:
        return line.pack.price_on(self.delivery.deliver_on, line.packs)

    def amount_of(self, line: UsualLine) -> Decimal:
        return cents(line.packs * self.price_of(line))

    @property
    def fee(self) -> Decimal:
        supplier = self.delivery.supplier
        if supplier.free_from is not None and self.goods >= supplier.free_from:
            return Decimal("0.00")
        return cents(supplier.delivery_fee)


@dataclass
class Purchase:
    delivery: Delivery
    pack: Pack
    packs: int

    @property
    def bought(self) -> Bought:
        amount = self.packs * self.pack.holds
        return Bought(amount, self.delivery.deliver_on, self.delivery.usable_on)


@dataclass
class Lack:
    kind: str
    day: date


def order(
    kitchen: Kitchen, plans: list[ItemPlan], window: Window, *, with_shops: bool = False
) -> list[UsualOrder]:
    orders: dict[tuple[str, date], UsualOrder] = {}
    for plan in plans:
        for purchase in ItemBuyer(kitchen, plan, window, with_shops=with_shops).buy():
            delivery = purchase.delivery
            key = (delivery.supplier.name, delivery.deliver_on)
            lines = orders.setdefault(key, UsualOrder(delivery)).lines
            same = next((line for line in lines if line.pack is purchase.pack), None)
            if same is None:
                lines.append(UsualLine(purchase.pack, plan.item, purchase.packs))
            else:
                same.packs += purchase.packs
    for supplier in kitchen.suppliers.values():
        of_supplier = [o for o in orders.values() if o.delivery.supplier is supplier]
        meet_minimums(sorted(of_supplier, key=lambda o: o.delivery.deliver_on))
    full = [order for order in orders.values() if order.lines]
    return sorted(
        full, key=lambda o: (o.delivery.deliver_on, o.delivery.supplier.name.casefold())
    )


class ItemBuyer:
    """Buys one item, round by round."""

    def __init__(
        self, kitchen: Kitchen, plan: ItemPlan, window: Window, *, with_shops: bool
    ) -> None:
        self.kitchen, self.item, self.window = kitchen, plan.item, window
        self.used = {day.day: day.used for day in plan.days}
        self.par_days = par_days(kitchen, plan.item, window) if plan.item.par else []
        self.packs = self.liked(kitchen.packs)
        self.decided = [each for each in kitchen.decided if each.pack in self.packs]
        self.bought = [
            Purchase(delivery, each.pack, each.packs)
            for each in self.decided
            for delivery in self.deliveries(each.pack)
            if delivery.deliver_on == each.deliver_on
        ]
        self.shop_packs = self.liked(kitchen.shop_packs) if with_shops else []

    def liked(self, packs: list[Pack]) -> list[Pack]:
        mine = [pack for pack in packs if pack.item == self.item.name.casefold()]
        return sorted(mine, key=liking)

    def buy(self) -> list[Purchase]:
        while purchase := self.next_purchase():
            self.bought.append(purchase)
        return self.bought

    def next_purchase(self) -> Purchase | None:
        days = self.days()
        for lack in self.lacks(days):
            purchase = (
                self.in_date(self.packs, lack, days)
                or self.sparing(lack, days)
                or self.in_date(self.shop_packs, lack, days)
            )
            if purchase:
                return purchase
        return None

    def days(self, *more: Bought) -> list[Day]:
        bought = [*(purchase.bought for purchase in self.bought), *more]
        return project(
            self.kitchen, self.item, self.used, self.window.days, bought
        ).days

    def lacks(self, days: list[Day]) -> Iterator[Lack]:
        for day in days:
            for kind in ("out", "below safety", "below par"):
                if self.lacking(kind, day) >= self.allowed(kind):
                    yield Lack(kind, day.day)

    def allowed(self, kind: str) -> Fraction:
        """From what lack on something is short."""
        tenth = (self.item.par or 0) * (1 - KEPT) if kind == "below par" else 0
        return NO_LACK + tenth

    def lacking(self, kind: str, day: Day) -> Fraction:
        if kind == "out":
            return day.outstanding
        if kind == "below safety":
            return (self.item.safety or 0) - day.closing
        if not self.item.par or day.day not in self.par_days:
            return Fraction(0)
        later = due_later(self.kitchen, self.item, day.day)
        return self.item.par - day.closing - later - self.decided_later(day.day)

    def decided_later(self, day: date) -> Fraction:
        """What was decided on brings after a day, if it can still be ordered.

        A day on which nothing is delivered brings nothing, after the window either.
        """
        found = Fraction(0)
        for each in self.decided:
            supplier = self.kitchen.suppliers[each.pack.supplier.casefold()]
            if each.deliver_on > self.window.end:
                comes = is_delivery_day(self.kitchen, supplier, each.deliver_on)
                comes &= in_time(self.kitchen, supplier, each.deliver_on, self.window)
            else:
                days = [d.deliver_on for d in self.deliveries(each.pack)]
                comes = each.deliver_on in days
            if comes and each.deliver_on > day:
                found += each.packs * each.pack.holds
        return found

    def in_date(
        self, packs_sold: list[Pack], lack: Lack, days: list[Day]
    ) -> Purchase | None:
        for pack in packs_sold:
            deliveries_in_time = [
                delivery
                for delivery in self.deliveries(pack)
                if arrives_in_time(delivery, self.item, lack.kind, lack.day)
            ]
            if deliveries_in_time:
                last = deliveries_in_time[-1]
                there = self.decided_packs(pack, last)
                packs = whole_packs(pack, self.need(last, lack, days), there)
                return Purchase(last, pack, packs) if packs else None
        return None

    def need(self, delivery: Delivery, lack: Lack, days: list[Day]) -> Fraction:
        """The largest lack of any kind while the goods are there, to the par day."""
        ahead = [day for day in self.par_days if day >= lack.day]
        last = min([*ahead[:1], self.window.end])
        in_date = use_by(delivery.deliver_on, self.item.keeps_days)
        last = last if in_date is None else min(last, in_date)
        found = [Fraction(0)]
        for day in days:
            for kind in ("out", "below safety", "below par"):
                there = delivery.usable_on if kind == "out" else delivery.deliver_on
                if there <= day.day <= last:
                    found.append(self.lacking(kind, day))
        return max(found)

    def decided_packs(self, pack: Pack, delivery: Delivery) -> int:
        return sum(
            each.packs
            for each in self.decided
            if each.pack is pack and each.deliver_on == delivery.deliver_on
        )

    def sparing(self, lack: Lack, days: list[Day]) -> Purchase | None:
        now = self.lacking_on(lack, days)
        for pack in self.packs:
            for delivery in reversed(self.deliveries(pack)):
                if not is_before(delivery, lack.kind, lack.day):
                    continue
                if not is_ever_usable(delivery, self.item):
                    continue
                most = self.lacking_with(lack, delivery, plenty(self.used, self.item))
                least = max(most, Fraction(0))
                if now - least < NO_LACK / 2:
                    continue
                packs = 1
                while self.lacking_with(lack, delivery, packs * pack.holds) > least:
                    packs += 1
                return Purchase(delivery, pack, allowed(pack, packs))
        return None

    def lacking_with(
        self, lack: Lack, delivery: Delivery, amount: Fraction
    ) -> Fraction:
        more = Bought(amount, delivery.deliver_on, delivery.usable_on)
        return self.lacking_on(lack, self.days(more))

    def lacking_on(self, lack: Lack, days: list[Day]) -> Fraction:
        (day,) = [day for day in days if day.day == lack.day]
        return self.lacking(lack.kind, day)

    def deliveries(self, pack: Pack) -> list[Delivery]:
        supplier = self.kitchen.suppliers[pack.supplier.casefold()]
        return list(deliveries(self.kitchen, supplier, self.window))


def whole_packs(pack: Pack, amount: Fraction, there: int = 0) -> int:
    """So many more packs on a delivery that has some of them already."""
    packs = math.ceil(amount / pack.holds - FORGIVEN)
    return allowed(pack, there + packs) - there if packs > 0 else 0


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
        while early.goods < minimum and any(
            early.price_of(line) for line in early.lines
        ):
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
