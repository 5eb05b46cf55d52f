"""How days, moments, names and counts are said in the engine's sentences."""

from collections.abc import Sequence
from datetime import date, datetime

from stock.calendar.calendar_words import clock_words, date_words


def day_words(on: date) -> str:
    """Return a date with its weekday.

    >>> day_words(date(2026, 5, 5))
    'Tue May 5'
    """
    return date_words(on)


def moment_words(at: datetime) -> str:
    """Return a moment in its own zone.

    >>> moment_words(datetime(2026, 5, 5, 14, 0))
    'Tue May 5, 2:00 pm'
    """
    return f"{date_words(at)}, {clock_words(at.time())}"


def days_words(count: int) -> str:
    """Return a number of days, in the singular where it is one."""
    return "1 day" if count == 1 else f"{count} days"


def capitalized(words: str) -> str:
    """Return words as they begin a sentence."""
    return words[:1].upper() + words[1:]


def listed(words: Sequence[str], most: int) -> str:
    """Return the first few of a list, and how many more there are.

    >>> listed(["A", "B", "C", "D"], 2), listed(["A", "B"], 2)
    ('A, B and 2 more', 'A and B')
    """
    if len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    return " and ".join([", ".join(words[:-1]), words[-1]] if words[1:] else words)
