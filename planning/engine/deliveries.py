"""Which deliveries of each supplier can still be ordered, and by when.

A delivery day is a date of the window on one of the supplier's weekdays, on which
neither the supplier nor the bakery is closed. See `stock.calendar.cut_offs` for why
moments are compared in UTC.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    DeliveryKey,
    Kitchen,
    SupplierTerms,
    Window,
)
from stock.calendar.cut_offs import CutOff

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class PossibleDelivery:
    """One truck that can still be ordered."""

    supplier: int  # index into Kitchen.suppliers
    deliver_on: date
    order_by: datetime  # aware, in the bakery's zone
    usable_on: date  # the first day its goods can be used

    @property
    def key(self) -> DeliveryKey:
        """Whose delivery it is, and on which day."""
        return DeliveryKey(self.supplier, self.deliver_on)


def possible_deliveries(
    kitchen: Kitchen, window: Window
) -> tuple[PossibleDelivery, ...]:
    """Return the deliveries in the window whose cut-off is not past, without shops.

    Sorted by day, then by the supplier's name. A cut-off at this very moment is still
    in time.
    """
    return _possible(kitchen, window, is_shop=False)


def possible_shop_trips(
    kitchen: Kitchen, window: Window
) -> tuple[PossibleDelivery, ...]:
    """Return on which days of the window somebody can still go to which shop."""
    return _possible(kitchen, window, is_shop=True)


def _possible(
    kitchen: Kitchen, window: Window, *, is_shop: bool
) -> tuple[PossibleDelivery, ...]:
    zone = ZoneInfo(kitchen.bakery.zone_key)
    as_of = window.as_of.astimezone(UTC)
    days = [window.from_on + timedelta(days=n) for n in range(window.days)]
    found = [
        PossibleDelivery(place, day, order_by, first_usable_on(terms, day))
        for place, terms in enumerate(kitchen.suppliers)
        if terms.is_shop == is_shop
        for day in days
        if can_come(kitchen, place, day)
        if (order_by := order_by_moment(terms, day, zone)).astimezone(UTC) >= as_of
    ]
    return tuple(sorted(found, key=lambda delivery: _by_day(kitchen, delivery)))


def can_come(kitchen: Kitchen, supplier: int, day: date) -> bool:
    """Whether a supplier delivers on a day, whatever its cut-off."""
    terms = kitchen.suppliers[supplier]
    return (
        not kitchen.bakery.is_closed(day)
        and day.weekday() in terms.delivery_weekdays
        and day not in terms.closed_on
    )


def order_by_moment(
    supplier: SupplierTerms, deliver_on: date, zone: ZoneInfo
) -> datetime:
    """Return the last moment at which this delivery can be ordered."""
    cut_off = CutOff(
        supplier.cutoff_days, supplier.cutoff_time, supplier.cutoff_days_by_weekday
    )
    return cut_off.order_by(deliver_on, zone)


def first_usable_on(supplier: SupplierTerms, deliver_on: date) -> date:
    """Return the first day on which what this supplier brings can be used."""
    return deliver_on + ONE_DAY if supplier.usable_next_day else deliver_on


def use_by_on(keeps_days: int, received_on: date) -> date | None:
    """Return the last day goods received on a day can be used; None: no limit."""
    if keeps_days == NO_LIMIT_DAYS:
        return None
    return received_on + timedelta(days=keeps_days - 1)


def is_in_date(keeps_days: int, received_on: date, on: date) -> bool:
    """Whether goods received on one day can still be used on another."""
    use_by = use_by_on(keeps_days, received_on)
    return use_by is None or use_by >= on


def is_ever_usable(keeps_days: int, delivery: PossibleDelivery) -> bool:
    """Whether goods of a delivery are still in date when they can first be used.

    What keeps 1 day and may be used from the next is not: it is never bought.
    """
    return is_in_date(keeps_days, delivery.deliver_on, delivery.usable_on)


def by_supplier(
    deliveries: Iterable[PossibleDelivery],
) -> Mapping[int, Sequence[PossibleDelivery]]:
    """Return each supplier's deliveries in order of their day."""
    found: dict[int, list[PossibleDelivery]] = defaultdict(list)
    for delivery in sorted(deliveries, key=lambda delivery: delivery.deliver_on):
        found[delivery.supplier].append(delivery)
    return found


def _by_day(kitchen: Kitchen, delivery: PossibleDelivery) -> tuple[date, str]:
    return delivery.deliver_on, kitchen.suppliers[delivery.supplier].name.casefold()
