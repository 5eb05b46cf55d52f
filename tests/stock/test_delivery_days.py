from datetime import UTC, date, datetime, time

import pytest

from stock.models import Bakery, Supplier
from stock.suppliers.delivery_days import DeliveryDays, next_truck

# Tuesdays and Fridays, ordered by two o'clock of the day before.
TERMS = {"delivery_days": "Tue Fri", "cutoff_days": 1, "cutoff_time": time(14)}


def truck(at, bakery=None, **terms):
    return next_truck(Supplier(**TERMS | terms), bakery or Bakery(), at=at)


def moment(day, hour, minute=0):
    return datetime(2026, 5, day, hour, minute, tzinfo=UTC)  # the 4th is a Monday


@pytest.mark.parametrize(
    ("at", "deliver_on"),
    [
        (moment(4, 13, 59), date(2026, 5, 5)),
        (moment(4, 14, 0), date(2026, 5, 5)),  # this very moment is in time
        (moment(4, 14, 1), date(2026, 5, 8)),
        (moment(7, 14, 1), date(2026, 5, 12)),
    ],
)
def test_the_next_truck_is_one_that_can_still_be_ordered(at, deliver_on):
    assert truck(at).deliver_on == deliver_on


def test_a_cut_off_on_the_day_itself():
    found = truck(moment(5, 5), cutoff_days=0, cutoff_time=time(6))

    assert (found.deliver_on, found.order_by) == (date(2026, 5, 5), moment(5, 6))


def test_nobody_comes_when_the_supplier_or_the_bakery_is_closed():
    closed = Bakery(closed_days="Fri", closed_on="2026-05-12")

    assert truck(moment(4, 9), closed_on="2026-05-05").deliver_on == date(2026, 5, 8)
    assert truck(moment(5, 9), bakery=closed).deliver_on == date(2026, 5, 19)


def test_a_truck_comes_on_its_days_whatever_its_cut_off():
    supplier = Supplier(**TERMS, closed_on="2026-05-05")

    days = DeliveryDays.of(supplier, Bakery(closed_days="Fri"))

    # Tuesdays and Fridays of two weeks: one is closed for each side
    found = [day for day in range(4, 18) if date(2026, 5, day) in days]
    assert found == [12]


def test_the_cut_off_is_on_the_bakerys_own_clock():
    # 18:30 in London is 13:30 in Chicago: half an hour is left
    found = truck(moment(4, 18, 30), bakery=Bakery(time_zone="America/Chicago"))

    assert found.deliver_on == date(2026, 5, 5)
    assert found.order_by == datetime(2026, 5, 4, 19, tzinfo=UTC)


def test_a_supplier_that_never_comes_has_no_next_truck():
    assert truck(moment(4, 9), bakery=Bakery(closed_days="Tue Fri")) is None
