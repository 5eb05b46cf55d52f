"""How days, moments, names and counts are said within sentences."""

import re
from collections.abc import Sequence
from datetime import date, datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from stock.calendar.calendar_words import clock_words, date_words
from stock.measures.nouns import singular
from stock.wording.names import capitalized as capitalized

ONE_IN_S = ("ss", "us", "is", "molasses")  # ends of names that are one all the same


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
    return ngettext("{count} day", "{count} days", count).format(count=count)


def days_late_words(days: int) -> str:
    """Return how late something is.

    >>> days_late_words(1), days_late_words(3)
    ('late by 1 day', 'late by 3 days')
    """
    return _("late by {days}").format(days=days_words(days))


def listed(words: Sequence[str], most: int) -> str:
    """Return the first few of a list, and how many more there are.

    >>> listed(["A", "B", "C", "D"], 2), listed(["A", "B"], 2)
    ('A, B and 2 more', 'A and B')
    """
    if len(words) > most:
        first, rest = words[:most], len(words) - most
        return _("{names} and {count} more").format(names=", ".join(first), count=rest)
    if len(words) < 2:
        return "".join(words)
    return _("{names} and {last}").format(names=", ".join(words[:-1]), last=words[-1])


def count_words(name: str) -> str:
    """Return that an item is to be counted, as its name is one or many.

    >>> [count_words(name) for name in ("Hazelnuts", "eggs, large", "molasses")]
    ['Count them.', 'Count them.', 'Count it.']
    """
    head = re.split(r"[,(;/]", name.casefold(), maxsplit=1)[0].strip()
    is_one = singular(head) == head or head.endswith(ONE_IN_S)
    return _("Count it.") if is_one else _("Count them.")
