"""When a supplier's truck comes next, and until when it can be ordered.

A truck comes on the supplier's weekdays, unless the supplier or the bakery is closed
that day. See `cut_offs` for why moments are compared in UTC.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from stock.calendar import calendars
from stock.calendar.cut_offs import read_cut_off
from stock.models import Bakery, Supplier

MOST_DAYS_AHEAD = 366


@dataclass(frozen=True, slots=True)
class NextTruck:
    """The first delivery that can still be ordered."""

    deliver_on: date
    order_by: datetime  # aware, in the bakery's zone


@dataclass(frozen=True, slots=True)
class DeliveryDays:
    """On which days a supplier's truck comes to the bakery."""

    weekdays: frozenset[int]
    closed_on: frozenset[date]

    @classmethod
    def of(cls, supplier: Supplier, bakery: Bakery) -> "DeliveryDays":
        """Return the days on which the one delivers and neither is closed. No query."""
        delivering = calendars.parse_weekdays(supplier.delivery_days)
        closed = calendars.parse_weekdays(bakery.closed_days)
        return cls(
            weekdays=frozenset(delivering) - frozenset(closed),
            closed_on=frozenset(calendars.parse_dates(supplier.closed_on))
            | frozenset(calendars.parse_dates(bakery.closed_on)),
        )

    def __contains__(self, day: date) -> bool:
        return day.weekday() in self.weekdays and day not in self.closed_on


def next_truck(supplier: Supplier, bakery: Bakery, *, at: datetime) -> NextTruck | None:
    """Return the next truck whose cut-off is not past; None within a year.

    A cut-off at this very moment is still in time. No query.
    """
    today = at.astimezone(bakery.zone).date()
    delivery_days = DeliveryDays.of(supplier, bakery)
    cut_off = read_cut_off(supplier.cutoff_days, supplier.cutoff_time)
    for days_ahead in range(MOST_DAYS_AHEAD):
        day = today + timedelta(days=days_ahead)
        if day in delivery_days:
            order_by = cut_off.order_by(day, bakery.zone)
            if order_by.astimezone(UTC) >= at.astimezone(UTC):
                return NextTruck(day, order_by)
    return None
