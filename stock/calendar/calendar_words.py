"""How days and times of day are said, on pages and in sentences. Pure: no Django."""

from datetime import date, time

from django.utils.translation import gettext as _

# The names are ours, so that no locale of the machine changes them.
MONTHS_SHORT = (
    *("Jan", "Feb", "Mar", "Apr", "May", "Jun"),
    *("Jul", "Aug", "Sep", "Oct", "Nov", "Dec"),
)
WEEKDAYS = (
    *("Monday", "Tuesday", "Wednesday", "Thursday"),
    *("Friday", "Saturday", "Sunday"),
)


def short_weekday(on: date) -> str:
    """Return a date's weekday in three letters.

    >>> short_weekday(date(2026, 5, 5))
    'Tue'
    """
    return WEEKDAYS[on.weekday()][:3]


def date_words(on: date) -> str:
    """Return a date with its weekday, without its year.

    >>> date_words(date(2026, 5, 5))
    'Tue May 5'
    """
    return f"{short_weekday(on)} {MONTHS_SHORT[on.month - 1]} {on.day}"


def long_date_words(on: date) -> str:
    """Return a date as it stands in a letter, with its year.

    >>> long_date_words(date(2026, 5, 5))
    'Tuesday, May 5, 2026'
    """
    weekday = WEEKDAYS[on.weekday()]
    return f"{weekday}, {MONTHS_SHORT[on.month - 1]} {on.day}, {on.year}"


def clock_words(at: time) -> str:
    """Return a time of day, to the minute; noon is noon.

    >>> clock_words(time(14, 0)), clock_words(time(12)), clock_words(time(0, 5))
    ('2:00 pm', 'noon', '12:05 am')
    """
    if (at.hour, at.minute) == (12, 0):
        return _("noon")
    return f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


def days_before_words(days: int) -> str:
    """Return how long before something it is.

    >>> days_before_words(0), days_before_words(1), days_before_words(3)
    ('the same day', 'the day before', '3 days before')
    """
    near = {0: _("the same day"), 1: _("the day before")}
    return near.get(days) or _("{days} days before").format(days=days)
