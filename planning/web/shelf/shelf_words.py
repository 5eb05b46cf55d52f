"""The shelf line in words: what its title and its description say."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.web.shelf.shelf_days import Amount, ShelfLine
from stock.calendar.calendar_words import MONTHS_SHORT, date_words
from stock.wording.money_words import MINUS

MOST_DAYS_NAMED = 4
NOTHING = gettext_lazy("nothing")


def amount_words(amount_base: Amount | None, unit_words: str) -> str:
    """Return a base amount with its unit, to the nearest whole one."""
    figure = f"{round(amount_base or 0):,}"
    return f"{figure.replace('-', MINUS)} {unit_words}".strip()


def day_label(on: date) -> str:
    """Return a date short enough for an axis: Dec 5."""
    return f"{MONTHS_SHORT[on.month - 1]} {on.day}"


def span_words(line: ShelfLine) -> str:
    """Return from when to when the picture runs."""
    if not line.days:
        return _("no days planned")
    return _("{date} to {date2}").format(
        date=date_words(line.days[0].on), date2=date_words(line.days[-1].on)
    )


def describe(line: ShelfLine) -> str:
    """Return what the picture shows, as sentences: ends, lacks, deliveries, levels."""
    if not line.days:
        return _("There is nothing to show yet.")
    days = line.days
    sentences = [
        _("On the shelf after {date}: {said}.").format(
            date=date_words(day.on), said=_said(line, day.closing_base)
        )
        for day in (days[:1] if len(days) == 1 else (days[0], days[-1]))
    ]
    sentences += [
        f"{words} {_days_words(found)}."
        for words, found in (
            (_("Short on"), [day.on for day in days if day.is_short]),
            (
                _("Below safety on"),
                [day.on for day in days if day.below_safety and not day.is_short],
            ),
            (_("Below par on"), [day.on for day in days if day.below_par]),
            (_("Delivery on"), [day.on for day in days if day.received_base > 0]),
        )
        if found
    ]
    sentences += [
        f"{name} {words or amount_words(level_base, line.unit_words)}."
        for name, level_base, words in (
            (_("Safety"), line.safety_base, line.safety_words),
            (_("Par"), line.par_base, line.par_words),
        )
        if level_base
    ]
    asked = [day.on for day in days if day.is_par_day]
    if asked:
        sentences.append(_("Par asked for on {days}.").format(days=_days_words(asked)))
    return " ".join(sentences)


def _said(line: ShelfLine, amount_base: Amount) -> str:
    if line.say is None:
        return amount_words(amount_base, line.unit_words)
    return line.say(float(amount_base)) if round(amount_base, 2) else str(NOTHING)


def _days_words(days: Sequence[date]) -> str:
    if len(days) > MOST_DAYS_NAMED:
        return _("{count} days, from {date} to {date2}").format(
            count=len(days), date=date_words(days[0]), date2=date_words(days[-1])
        )
    *others, last = [date_words(on) for on in days]
    return (
        _("{others} and {last}").format(others=", ".join(others), last=last)
        if others
        else last
    )
