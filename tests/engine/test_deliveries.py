from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from planning.engine.deliveries import (
    first_usable_on,
    is_in_date,
    order_by_moment,
    possible_deliveries,
    possible_shop_trips,
    use_by_on,
)
from planning.engine.kitchen import NO_LIMIT_DAYS, Window
from planning.engine.plan import ShortfallKind
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from tests.engine import shelves

NEW_YORK = ZoneInfo("America/New_York")
TUE, THU, FRI = date(2026, 5, 5), date(2026, 5, 7), date(2026, 5, 8)
TUE_FRI = (1, 4)


def days_of(kitchen, window):
    return [delivery.deliver_on for delivery in possible_deliveries(kitchen, window)]


def at_new_york(hour, minute=0):
    return datetime(2026, 5, 4, hour, minute, tzinfo=NEW_YORK)


def one_supplier(**terms):
    nodes = shelves.items({"name": "butter"})
    return shelves.kitchen(
        nodes,
        suppliers=[shelves.supplier("Dairy", **terms)],
        packs=[shelves.pack(0, 453.59237, 3.30)],
    )


@pytest.mark.parametrize(
    ("moment", "expected"),
    [
        (at_new_york(9), [TUE, FRI]),
        (at_new_york(14), [TUE, FRI]),  # the cut-off itself is still in time
        (at_new_york(14, 1), [FRI]),
        (at_new_york(15, 10), [FRI]),
    ],
)
def test_a_delivery_whose_cutoff_is_past_is_gone(moment, expected):
    kitchen = one_supplier(days=TUE_FRI)

    found = days_of(kitchen, Window(moment, date(2026, 5, 4), 7))

    assert found == expected


def test_order_timing_of_reference_c_65():
    # Needed Thu 7 May; trucks Tue and Fri; cut-off 14:00 the day before.
    kitchen = one_supplier(days=TUE_FRI)
    lack = DatedShortfall(0, ShortfallKind.OUT, THU)

    early = Window(at_new_york(9), date(2026, 5, 4), 7)
    remedy = Market(kitchen, possible_deliveries(kitchen, early)).remedy(lack)
    late = Window(at_new_york(15, 10), date(2026, 5, 4), 7)
    no_remedy = Market(kitchen, possible_deliveries(kitchen, late)).remedy(lack)

    assert remedy.deliver_on == TUE
    assert remedy.order_by == at_new_york(14)
    assert no_remedy is None


def test_closed_days_of_either_side_bring_nothing():
    nodes = shelves.items({"name": "butter"})
    kitchen = shelves.kitchen(
        nodes,
        suppliers=[shelves.supplier(closed_on=frozenset([date(2026, 5, 6)]))],
        closed_weekdays=frozenset([6]),
        closed_on=frozenset([date(2026, 5, 8)]),
    )

    found = days_of(kitchen, shelves.window())

    # Mon 4 May is past its cut-off; Wed, Fri and Sun are closed.
    assert found == [date(2026, 5, 5), date(2026, 5, 7), date(2026, 5, 9)]


def test_deliveries_come_by_day_then_by_name():
    nodes = shelves.items({"name": "butter"})
    suppliers = [
        shelves.supplier("zest & co", days=(1,)),
        shelves.supplier("Apples", days=(1,)),
        shelves.supplier("Mill", days=(0,), cutoff_days=0),
    ]
    kitchen = shelves.kitchen(nodes, suppliers=suppliers)

    found = possible_deliveries(kitchen, shelves.window())

    assert [delivery.supplier for delivery in found] == [2, 1, 0]


@pytest.mark.parametrize(
    ("deliver_on", "cutoff_at", "expected_utc"),
    [
        # New York: clocks go forward on 8 March 2026, back on 1 November 2026.
        (date(2026, 3, 8), time(14), datetime(2026, 3, 7, 19, tzinfo=UTC)),
        (date(2026, 3, 9), time(14), datetime(2026, 3, 8, 18, tzinfo=UTC)),
        (date(2026, 11, 1), time(14), datetime(2026, 10, 31, 18, tzinfo=UTC)),
        (date(2026, 11, 2), time(14), datetime(2026, 11, 1, 19, tzinfo=UTC)),
        # 2:30 on 8 March does not exist; 1:30 on 1 November comes twice.
        (date(2026, 3, 9), time(2, 30), datetime(2026, 3, 8, 7, 30, tzinfo=UTC)),
        (date(2026, 11, 2), time(1, 30), datetime(2026, 11, 1, 5, 30, tzinfo=UTC)),
    ],
)
def test_the_cutoff_is_told_by_the_bakerys_clock(deliver_on, cutoff_at, expected_utc):
    supplier = shelves.supplier(cutoff_time=cutoff_at)

    moment = order_by_moment(supplier, deliver_on, NEW_YORK)

    assert moment.astimezone(UTC) == expected_utc


def test_a_skipped_time_is_shown_as_a_time_that_exists():
    supplier = shelves.supplier(cutoff_time=time(2, 30))

    moment = order_by_moment(supplier, date(2026, 3, 9), NEW_YORK)

    assert moment.isoformat() == "2026-03-08T03:30:00-04:00"


def test_the_hour_that_comes_twice_is_not_compared_by_the_wall():
    # 1:30 comes first at 05:30 UTC; the second 1:15, at 06:15 UTC, is after it.
    kitchen = one_supplier(cutoff_time=time(1, 30))
    second = datetime(2026, 11, 1, 1, 15, tzinfo=NEW_YORK, fold=1)

    found = days_of(kitchen, Window(second, date(2026, 11, 2), 1))

    assert found == []


@pytest.mark.parametrize(
    ("next_day", "usable_on"), [(False, TUE), (True, date(2026, 5, 6))]
)
def test_goods_are_usable_the_same_or_the_next_day(next_day, usable_on):
    supplier = shelves.supplier(usable_next_day=next_day)

    assert first_usable_on(supplier, TUE) == usable_on


def test_goods_keep_the_day_they_come_included():
    assert use_by_on(3, TUE) == THU
    assert use_by_on(NO_LIMIT_DAYS, TUE) is None
    assert is_in_date(3, TUE, THU)
    assert not is_in_date(3, TUE, FRI)


def test_a_shop_brings_nothing_and_is_gone_to_instead():
    # 4 May is a Monday: the shop is open on Tuesday and Friday.
    kitchen = one_supplier(days=TUE_FRI, is_shop=True, cutoff_days=0)
    window = Window(at_new_york(9), date(2026, 5, 4), 7)

    trips = possible_shop_trips(kitchen, window)

    assert days_of(kitchen, window) == []
    assert [trip.deliver_on for trip in trips] == [TUE, FRI]


def test_cut_offs_may_differ_by_the_weekday_of_the_delivery():
    # Four days before Tuesday is past on Monday; a day before Friday is not.
    kitchen = one_supplier(
        days=TUE_FRI, cutoff_days=4, cutoff_days_by_weekday=((1, 4), (4, 1))
    )
    window = Window(at_new_york(9), date(2026, 5, 4), 7)

    (friday,) = possible_deliveries(kitchen, window)

    assert friday.order_by == datetime(2026, 5, 7, 14, tzinfo=NEW_YORK)


def test_the_remedy_is_the_last_to_order_not_the_last_to_come():
    # Friday's truck has to be ordered on Sunday, Tuesday's only on Monday.
    kitchen = one_supplier(
        days=TUE_FRI, cutoff_days=5, cutoff_days_by_weekday=((1, 1), (4, 5))
    )
    window = Window(datetime(2026, 5, 2, 9, tzinfo=NEW_YORK), date(2026, 5, 2), 7)
    lack = DatedShortfall(0, ShortfallKind.OUT, FRI)

    remedy = Market(kitchen, possible_deliveries(kitchen, window)).remedy(lack)

    assert (remedy.deliver_on, remedy.order_by) == (TUE, at_new_york(14))
