"""How dates, moments and money are said on a page.

Each filter is a plain function too. "Today" is always handed in, as a date on the
bakery's own clock; moments are told in the time zone in force.
"""

from datetime import date, datetime
from decimal import Decimal

from django import template
from django.utils import timezone
from django.utils.translation import gettext as _

from stock.calendar.calendar_words import (
    WEEKDAYS,
    clock_words,
    date_words,
    long_date_words,
)
from stock.wording.money_words import money_words, price_words

register = template.Library()
register.filter(long_date_words)

NEAR_DAYS = 6  # one more would name today's own weekday
UNKNOWN = "\N{EN DASH}"


@register.filter
def day_words(on: date | None, today: date) -> str:
    """Return a date as people say it: today, Friday, last Monday, Fri Dec 12.

    A year is said only when it is another one. An unknown date is a dash.
    """
    if on is None:
        return UNKNOWN
    return _near_day_words(on, today) or full_day_words(on, today)


@register.filter
def brief_day_words(on: date | None, today: date) -> str:
    """Return a date for a narrow column: today, Fri, last Mon, Fri Dec 12."""
    return _with_brief_weekday(day_words(on, today))


@register.filter
def full_day_words(on: date, today: date) -> str:
    """Return weekday, month and day, for a table where every row needs its date."""
    words = date_words(on)
    return words if on.year == today.year else f"{words}, {on.year}"


@register.filter
def moment_words(at: datetime | None, today: date) -> str:
    """Return a moment as people say it: Tue 2:00 pm, tomorrow 9:30 am."""
    if at is None:
        return UNKNOWN
    local = timezone.localtime(at)
    clock = clock_words(local.time())
    day = _near_day_words(local.date(), today)
    if not day:
        return f"{full_day_words(local.date(), today)}, {clock}"
    return f"{_with_brief_weekday(day)} {clock}"


@register.filter
def ago_words(on: date | None, today: date) -> str:
    """Return how far a date is from today: 6 days ago, today, in 3 days, never."""
    if on is None:
        return _("never")
    days = (on - today).days
    near = {0: _("today"), -1: _("yesterday"), 1: _("tomorrow")}
    if days in near:
        return near[days]
    return (
        _("in {days} days").format(days=days)
        if days > 0
        else _("{value} days ago").format(value=-days)
    )


@register.filter
def money(amount: Decimal | None, currency: str) -> str:
    """Return an amount of money with its currency: $1,204.50 or CAD 92.50."""
    if amount is None:
        return UNKNOWN
    return money_words(amount, currency)


@register.filter
def price(amount: Decimal | None, currency: str) -> str:
    """Return a price with its currency, to the ten-thousandth where it needs it."""
    if amount is None:
        return UNKNOWN
    return price_words(amount, currency)


def _with_brief_weekday(words: str) -> str:
    for weekday in WEEKDAYS:
        words = words.replace(weekday, weekday[:3])
    return words


def _near_day_words(on: date, today: date) -> str:
    days = (on - today).days
    near = {0: _("today"), -1: _("yesterday"), 1: _("tomorrow")}
    if days in near:
        return near[days]
    if abs(days) > NEAR_DAYS:
        return ""
    weekday = WEEKDAYS[on.weekday()]
    return weekday if days > 0 else _("last {weekday}").format(weekday=weekday)
