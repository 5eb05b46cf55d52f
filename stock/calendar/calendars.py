"""Weekdays and dates as people write them: `Tue Fri`, `2026-12-25; 2027-01-01`.

Pure: no Django, no clock. A weekday's number is Python's own: Monday is 0.
"""

import re
from collections.abc import Iterable
from datetime import date

from django.utils.translation import gettext as _

from stock.errors import StockError

SEVERAL_DATES = re.compile(r"\d{4}-\d{2}-\d{2}\D+\d{4}-\d{2}-\d{2}")

# No bakery plans outside; a slip of the finger does.
EARLIEST_DAY, LATEST_DAY = date(1990, 1, 1), date(2189, 12, 31)

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
FULL_NAMES = (
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
)


class CalendarTextError(StockError):
    """A weekday or a date that cannot be read."""


def parse_weekdays(text: str) -> tuple[int, ...]:
    """Return weekday numbers in week order, each once.

    >>> parse_weekdays("Fri Tue")
    (1, 4)
    """
    found = set()
    for word in re.split(r"[\s;,]+", text.strip()):
        if not word:
            continue
        matches = [n for n, name in enumerate(FULL_NAMES) if name == word.lower()]
        if not matches and word.title() in WEEKDAYS:
            matches = [WEEKDAYS.index(word.title())]
        if not matches:
            raise CalendarTextError(
                _("{word!r} isn't a weekday. Write {weekdays}, as needed.").format(
                    word=word, weekdays=" ".join(WEEKDAYS)
                )
            )
        found.add(matches[0])
    return tuple(sorted(found))


def write_weekdays(weekdays: Iterable[int]) -> str:
    """Return weekday numbers as text that `parse_weekdays` reads back."""
    return " ".join(WEEKDAYS[weekday] for weekday in sorted(set(weekdays)))


def last_weekday(week_starts: str) -> int:
    """Return the last weekday of weeks that start on this one.

    >>> last_weekday("Mon")
    6
    """
    (first,) = parse_weekdays(week_starts)
    return (first - 1) % len(WEEKDAYS)


def parse_dates(text: str) -> tuple[date, ...]:
    """Return the dates of a list split by `;`, sorted, each once.

    >>> parse_dates("2026-12-26; 2026-12-25")
    (datetime.date(2026, 12, 25), datetime.date(2026, 12, 26))
    """
    parts = [part for part in text.split(";") if part.strip()]
    if any(SEVERAL_DATES.search(part) for part in parts):
        raise CalendarTextError(
            _("Write ; between dates, like 2026-12-25; 2027-01-01.")
        )
    return tuple(sorted({parse_date(part) for part in parts}))


def parse_date(text: str) -> date:
    """Return one ISO date; a day that does not exist is an error that says so."""
    words = text.strip()
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", words):
        raise CalendarTextError(
            _("{words!r} isn't a date. Write year-month-day, like 2026-05-09.").format(
                words=words
            )
        )
    try:
        return date.fromisoformat(words)
    except ValueError as error:
        raise CalendarTextError(
            _("There is no {words} in the calendar.").format(words=words)
        ) from error


def is_believable(day: date) -> bool:
    """Whether a bakery may mean this day: its year is no slip of the finger."""
    return EARLIEST_DAY <= day <= LATEST_DAY


def too_far_away(day: date) -> str:
    """Return what is wrong with a day that nobody can mean."""
    return _("{day} is too far away. Write a year from {year} to {year2}.").format(
        day=day, year=EARLIEST_DAY.year, year2=LATEST_DAY.year
    )


def write_dates(dates: Iterable[date]) -> str:
    """Return dates as text that `parse_dates` reads back."""
    return "; ".join(day.isoformat() for day in sorted(set(dates)))
