"""The six digits of a date on a label, YYMMDD, as GS1 reads them.

Day 00 is the last day of its month. A year is the one of a hundred that is nearest:
from 49 years past to 50 years ahead (GS1 General Specifications, section 7.12).
"""

from calendar import monthrange
from datetime import date

YEARS_AHEAD, YEARS_PAST = 50, 49
# What a bakery buys keeps no longer; a label that says so was misread.
MOST_YEARS_KEPT, MOST_YEARS_OVER = 12, 3


def read_date(digits: str, today: date) -> date | None:
    """Return the date of six digits; None where there is no such day.

    >>> read_date("260200", date(2026, 11, 30))
    datetime.date(2026, 2, 28)
    """
    year = _full_year(int(digits[:2]), today.year)
    month, day = int(digits[2:4]), int(digits[4:6])
    if not 1 <= month <= 12:
        return None
    last = monthrange(year, month)[1]
    return date(year, month, day or last) if day <= last else None


def is_likely(day: date, today: date) -> bool:
    """Whether goods that come today may bear this date."""
    years = day.year - today.year
    return -MOST_YEARS_OVER <= years <= MOST_YEARS_KEPT


def _full_year(two_digits: int, this_year: int) -> int:
    year = this_year - this_year % 100 + two_digits
    if year - this_year > YEARS_AHEAD:
        return year - 100
    if year - this_year < -YEARS_PAST:
        return year + 100
    return year
