from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from stock.calendar.cut_offs import CutOff, read_cut_off

# New York's clocks go from 2:00 to 3:00 on 8 March 2026, and back on 1 November.
NEW_YORK = ZoneInfo("America/New_York")


@pytest.mark.parametrize(
    ("cutoff_days", "cutoff_time", "words"),
    [
        (0, time(0, 5), "12:05 am the same day"),
        (1, time(12), "noon the day before"),
        (3, time(23, 59), "11:59 pm 3 days before"),
    ],
)
def test_a_cut_off_is_said_as_people_say_it(cutoff_days, cutoff_time, words):
    assert CutOff(cutoff_days, cutoff_time).words == words


def test_days_may_differ_by_the_weekday_of_the_delivery():
    cut_off = read_cut_off("Mon 4; Thu 2", time(14))

    monday = cut_off.order_by(date(2026, 5, 11), UTC)
    thursday = cut_off.order_by(date(2026, 5, 14), UTC)

    assert (monday.date(), thursday.date()) == (date(2026, 5, 7), date(2026, 5, 12))
    assert cut_off.words == "2:00 pm 4 days before (Mon), 2 days before (Thu)"


def test_a_day_without_a_number_of_its_own_takes_the_longest():
    cut_off = read_cut_off("Mon 4; Thu 2", time(14))

    assert cut_off.order_by(date(2026, 5, 13), UTC).date() == date(2026, 5, 9)


@pytest.mark.parametrize(
    ("deliver_on", "cut_off", "order_by"),
    [
        # 14:00 in summer is 18:00 UTC, four hours later
        (date(2026, 5, 5), CutOff(1, time(14)), datetime(2026, 5, 4, 18, tzinfo=UTC)),
        # 2:30 is skipped; an hour after 1:30 in winter time it is 3:30, or 7:30 UTC
        (
            date(2026, 3, 9),
            CutOff(1, time(2, 30)),
            datetime(2026, 3, 8, 7, 30, tzinfo=UTC),
        ),
        # 1:30 comes twice; the first is in summer time
        (
            date(2026, 11, 2),
            CutOff(1, time(1, 30)),
            datetime(2026, 11, 1, 5, 30, tzinfo=UTC),
        ),
    ],
)
def test_it_is_a_moment_on_the_bakerys_clock(deliver_on, cut_off, order_by):
    moment = cut_off.order_by(deliver_on, NEW_YORK)

    assert moment.astimezone(UTC) == order_by
    assert moment.tzinfo is NEW_YORK
