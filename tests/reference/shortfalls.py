"""What runs short, for which cakes, and the last order that still saves it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from fractions import Fraction

from tests.reference import sparing
from tests.reference.explosion import NO_LACK, Need
from tests.reference.kitchen import Item, Kitchen, Pack, Supplier, local_moment, use_by
from tests.reference.projection import ItemPlan

KEPT = Fraction(9, 10)  # of par: so much of it is enough


@dataclass
class Window:
    at: datetime
    start: date
    end: date

    @property
    def days(self) -> list[date]:
        count = (self.end - self.start).days + 1
        return [self.start + timedelta(days=n) for n in range(count)]


@dataclass
class Delivery:
    supplier: Supplier
    order_by: datetime
    deliver_on: date

    @property
    def usable_on(self) -> date:
        return self.deliver_on + timedelta(days=0 if self.supplier.same_day else 1)


@dataclass
class Shortfall:
    item: Item
    kind: str
    first_date: date
    short_by: Fraction
    cakes: list[str]
    remedy: Delivery | None


def deliveries(
    kitchen: Kitchen, supplier: Supplier, window: Window
) -> Iterator[Delivery]:
    """The supplier's deliveries in the window that can still be ordered."""
    for day in window.days:
        if is_delivery_day(kitchen, supplier, day) and in_time(
            kitchen, supplier, day, window
        ):
            yield Delivery(supplier, order_by(kitchen, supplier, day), day)


def is_delivery_day(kitchen: Kitchen, supplier: Supplier, day: date) -> bool:
    """Whether a supplier comes on a day, whatever its cut-off."""
    is_closed = day in supplier.closed_on or kitchen.is_closed(day)
    return day.weekday() in supplier.delivery_days and not is_closed


def order_by(kitchen: Kitchen, supplier: Supplier, day: date) -> datetime:
    order_day = day - timedelta(days=supplier.days_before(day))
    return local_moment(kitchen.zone, order_day, supplier.cutoff_time)


def in_time(kitchen: Kitchen, supplier: Supplier, day: date, window: Window) -> bool:
    """Whether what comes on a day can still be ordered."""
    # Compared as instants: two moments of one zone would compare by the clock.
    moment = order_by(kitchen, supplier, day)
    return moment.timestamp() >= window.at.timestamp()


def arrives_in_time(delivery: Delivery, item: Item, kind: str, first: date) -> bool:
    """Whether it can help on the first day of the shortfall."""
    day = delivery.usable_on if kind == "out" else delivery.deliver_on
    last_day = use_by(delivery.deliver_on, item.keeps_days)
    in_date = last_day is None or last_day >= first
    return day <= first and in_date and is_ever_usable(delivery, item)


def is_ever_usable(delivery: Delivery, item: Item) -> bool:
    """Whether it can be used on any day before it is out of date."""
    last_day = use_by(delivery.deliver_on, item.keeps_days)
    return last_day is None or last_day >= delivery.usable_on


def find(
    kitchen: Kitchen, plan: ItemPlan, needs: list[Need], window: Window
) -> Shortfall | None:
    """The gravest shortfall of one item."""
    item, days = plan.item, plan.days
    outs = [day for day in days if day.outstanding >= NO_LACK]
    if outs:
        short_by = max(day.outstanding for day in outs)
        cakes = wanted_by(needs, {day.day for day in outs})
        return shortfall(kitchen, plan, "out", outs[0].day, short_by, cakes, window)
    safety = item.safety or Fraction(0)
    lows = [day for day in days if safety - day.closing >= NO_LACK]
    if lows:
        short_by = max(safety - day.closing for day in lows)
        cakes = wanted_by(needs, {day.day for day in lows})
        first = lows[0].day
        return shortfall(kitchen, plan, "below safety", first, short_by, cakes, window)
    unders = {
        day.day: item.par - day.closing - due_later(kitchen, item, day.day)
        for day in days
        if item.par and day.day in par_days(kitchen, item, window)
    }
    unkept = {
        day: under
        for day, under in unders.items()
        if under - item.par * (1 - KEPT) >= NO_LACK
    }
    if unkept:
        first, most = min(unkept), max(unkept.values())
        return shortfall(kitchen, plan, "below par", first, most, [], window)
    return None


def par_days(kitchen: Kitchen, item: Item, window: Window) -> list[date]:
    """The days at whose close par should stand on the shelf."""
    packs = [pack for pack in kitchen.packs if pack.item == item.name.casefold()]
    usual = usual_pack(kitchen, item)
    asked = set()
    if usual is not None:
        supplier = kitchen.suppliers[usual.supplier.casefold()]
        coming = [d.deliver_on for d in deliveries(kitchen, supplier, window)]
        for day in window.days:
            if day.weekday() in kitchen.par_days and coming and day >= min(coming):
                asked.add(day)
    is_short_lived = item.keeps_days is not None and item.keeps_days < 7
    if not is_short_lived or window.end.weekday() in kitchen.par_days:
        asked.add(window.end)
    possible = [
        delivery.deliver_on
        for name in {pack.supplier.casefold() for pack in packs}
        for delivery in deliveries(kitchen, kitchen.suppliers[name], window)
    ]
    if item.keeps_days is not None and possible:
        asked = {
            day
            for day in asked
            if any(on <= day <= use_by(on, item.keeps_days) for on in possible)
        }
    return sorted(asked)


def usual_pack(kitchen: Kitchen, item: Item) -> Pack | None:
    """Preferred, else cheapest per base unit."""
    packs = [pack for pack in kitchen.packs if pack.item == item.name.casefold()]
    return min(
        packs,
        default=None,
        key=lambda p: (not p.preferred, p.price / p.holds, p.supplier.casefold()),
    )


def shortfall(
    kitchen: Kitchen,
    plan: ItemPlan,
    kind: str,
    first: date,
    short_by: Fraction,
    cakes: list[str],
    window: Window,
) -> Shortfall:
    item = plan.item
    found = remedy(kitchen, item, kind, first, window)
    if found is None:
        before = [
            (delivery, pack)
            for pack in kitchen.packs
            if pack.item == item.name.casefold()
            for delivery in deliveries(
                kitchen, kitchen.suppliers[pack.supplier.casefold()], window
            )
            if sparing.is_before(delivery, kind, first)
            and is_ever_usable(delivery, item)
        ]
        level = least(kitchen, item, kind, first)
        found = sparing.remedy(kitchen, plan, kind, first, level, before)
    return Shortfall(item, kind, first, short_by, cakes, found)


def least(kitchen: Kitchen, item: Item, kind: str, day: date) -> Fraction:
    """What has to stand there so that nothing lacks in this way."""
    if kind == "below par":
        return KEPT * item.par - due_later(kitchen, item, day)
    return item.safety or Fraction(0)


def wanted_by(needs: list[Need], days: set[date]) -> list[str]:
    found = {r for need in needs if need.day in days for r in need.references}
    return sorted(found, key=str.casefold)


def due_later(kitchen: Kitchen, item: Item, day: date) -> Fraction:
    """What open orders bring after a day."""
    return sum(
        (
            order.amount
            for order in kitchen.open_orders
            if order.item == item.name.casefold() and order.due > day
        ),
        Fraction(0),
    )


def remedy(
    kitchen: Kitchen, item: Item, kind: str, first: date, window: Window
) -> Delivery | None:
    choices: list[tuple[Delivery, Pack]] = []
    for pack in kitchen.packs:
        if pack.item != item.name.casefold():
            continue
        supplier = kitchen.suppliers[pack.supplier.casefold()]
        for delivery in deliveries(kitchen, supplier, window):
            if arrives_in_time(delivery, item, kind, first):
                choices.append((delivery, pack))
    if not choices:
        return None
    best = min(
        choices,
        key=lambda choice: (
            -choice[0].order_by.timestamp(),
            not choice[1].preferred,
            choice[1].price_on(choice[0].deliver_on) / choice[1].holds,
            choice[1].supplier.casefold(),
            -choice[0].deliver_on.toordinal(),
        ),
    )
    return best[0]
