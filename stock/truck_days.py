"""When a supplier's truck comes next, and until when it can be ordered.

A truck comes on the supplier's weekdays, unless the supplier or the bakery is closed
that day. See `cut_offs` for why moments are compared in UTC.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from stock import calendars
from stock.cut_offs import CutOff
from stock.models import Bakery, Supplier

MOST_DAYS_AHEAD = 366


@dataclass(frozen=True, slots=True)
class NextTruck:
    """The first delivery that can still be ordered."""

    deliver_on: date
    order_by: datetime  # aware, in the bakery's zone


def next_truck(supplier: Supplier, bakery: Bakery, *, at: datetime) -> NextTruck | None:
    """Return the next truck whose cut-off is not past; None within a year.

    A cut-off at this very moment is still in time. No query.
    """
    today = at.astimezone(bakery.zone).date()
    weekdays = calendars.parse_weekdays(supplier.delivery_days)
    closed_weekdays = calendars.parse_weekdays(bakery.closed_days)
    closed_on = {
        *calendars.parse_dates(supplier.closed_on),
        *calendars.parse_dates(bakery.closed_on),
    }
    cut_off = CutOff(supplier.cutoff_days, supplier.cutoff_time)
    for days_ahead in range(MOST_DAYS_AHEAD):
        day = today + timedelta(days=days_ahead)
        if day.weekday() not in weekdays or day.weekday() in closed_weekdays:
            continue
        order_by = cut_off.order_by(day, bakery.zone)
        if day not in closed_on and order_by.astimezone(UTC) >= at.astimezone(UTC):
            return NextTruck(day, order_by)
    return None
