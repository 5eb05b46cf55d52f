"""When a supplier's truck comes next, and until when it can be ordered.

A truck comes on the supplier's weekdays, unless the supplier or the bakery is closed
that day. Its cut-off is a moment on the bakery's own clock; moments are compared in
UTC, because two of one zone compare by the clock on the wall, which is wrong around a
clock change.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from stock import calendars
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
    for days_ahead in range(MOST_DAYS_AHEAD):
        day = today + timedelta(days=days_ahead)
        if day.weekday() not in weekdays or day.weekday() in closed_weekdays:
            continue
        order_by = _order_by(supplier, bakery, day)
        if day not in closed_on and order_by.astimezone(UTC) >= at.astimezone(UTC):
            return NextTruck(day, order_by)
    return None


def cut_off_words(cutoff_days: int, cutoff_time: time) -> str:
    """Return the cut-off as people say it.

    >>> cut_off_words(1, time(14, 0))
    '2:00 pm the day before'
    """
    clock = f"{cutoff_time.hour % 12 or 12}:{cutoff_time:%M}"
    half = "am" if cutoff_time.hour < 12 else "pm"
    days = {0: "the same day", 1: "the day before"}
    return f"{clock} {half} {days.get(cutoff_days, f'{cutoff_days} days before')}"


def _order_by(supplier: Supplier, bakery: Bakery, deliver_on: date) -> datetime:
    cutoff_on = deliver_on - timedelta(days=supplier.cutoff_days)
    local = datetime.combine(cutoff_on, supplier.cutoff_time, tzinfo=bakery.zone)
    return local.astimezone(UTC).astimezone(bakery.zone)
