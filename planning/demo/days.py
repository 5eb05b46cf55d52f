"""The days of the demo kitchen: from words like `big+4` to dates."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

ONE_DAY = timedelta(days=1)
SATURDAY = 5
# So that there is still time to order for the big Saturday, but not much.
LEAST_DAYS_TO_BIG = 8
RELATIVE_DAY = re.compile(r"((from|before) )?(today|big)([+-]\d+)?")


@dataclass(frozen=True, slots=True)
class DemoDays:
    """The demo's own calendar, seen from the day it starts on."""

    today: date

    @property
    def big(self) -> date:
        """The Saturday of the wedding cake, 8 to 14 days from today."""
        day = self.today + LEAST_DAYS_TO_BIG * ONE_DAY
        return first_day(day, weekdays=(SATURDAY,))

    def day(self, text: str) -> date:
        """Return the date of `today-1` or `big+4`, whatever word stands before it."""
        found = RELATIVE_DAY.fullmatch(text)
        if found is None:
            raise ValueError(f"{text!r} isn't a day of the demo kitchen")
        anchor = self.big if found[3] == "big" else self.today
        return anchor + int(found[4] or 0) * ONE_DAY

    def delivery_day(
        self, text: str, *, weekdays: Collection[int], closed_on: Collection[date]
    ) -> date:
        """Return the delivery day that `from today+2` or `before today` means."""
        day = self.day(text)
        if text.startswith("before "):
            return first_day(day - ONE_DAY, weekdays, closed_on, step=-ONE_DAY)
        return first_day(day, weekdays, closed_on)


def first_day(
    day: date,
    weekdays: Collection[int],
    closed_on: Collection[date] = (),
    step: timedelta = ONE_DAY,
) -> date:
    """Return the first such weekday from `day` on, or back with a negative step."""
    while day.weekday() not in weekdays or day in closed_on:
        day += step
    return day


def is_relative(text: str) -> bool:
    """Whether a cell is a day in the demo's own words."""
    return RELATIVE_DAY.fullmatch(text) is not None
