"""What is written into a shelf line: the days under it, the levels beside their lines.

A level's words stand above or below its line, at the left or the right end: at the
first of those places where neither a step, hatching nor other words are in the way.

The shelf line in words: what its title and its description say.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import product

from django.utils.html import format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.web.shelf.shelf_days import Amount, ShelfLine
from stock.calendar.calendar_words import MONTHS_SHORT, date_words, short_weekday
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


MOST_WEEKDAY_LABELS = 16  # a day narrower than this has no room for its letters
MOST_DATE_LABELS = 6  # as many dates as fit side by side on a 320 px screen
LAST_DATE_SHARE = 5 / 6  # a date further to the right would be cut off
WORDS_SHARE = 0.3  # how much of the width a level's words take on a small screen
WORDS_HEIGHT_PX = 15
WORDS_OFF_LINE_PX = 4


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for words: at which end, and between which heights in px."""

    at_end: bool
    top: float
    baseline: float

    def clashes_with(self, other: "Spot") -> bool:
        """Say whether the words of both would overprint."""
        is_apart = self.baseline <= other.top or other.baseline <= self.top
        return self.at_end == other.at_end and not is_apart


def level_labels(
    line: ShelfLine, level_y: dict[str, float], heights: Sequence[float], *, floor: int
) -> SafeString:
    """Return the words of the levels drawn at `level_y`, each where there is room.

    `heights` is how far down each day's step stands, in px.
    """
    taken: list[Spot] = []
    for y in level_y.values():
        taken.append(_free_spot(y, line, heights, taken, floor))
    return format_html_join(
        "",
        '<text class="shelf-words{}" x="{}" y="{}">{}</text>',
        (
            (
                " shelf-words-end" if spot.at_end else "",
                "100%" if spot.at_end else "0",
                f"{spot.baseline:g}",
                _level_words(name, line),
            )
            for name, spot in zip(level_y, taken, strict=True)
        ),
    )


def weekday_labels(line: ShelfLine, *, y: int) -> SafeString:
    """Return two letters under each day, if the days are wide enough for them."""
    if len(line.days) > MOST_WEEKDAY_LABELS:
        return SafeString("")
    return format_html_join(
        "",
        '<text class="shelf-weekday" x="{}" y="{}">{}</text>',
        (
            (percent(x + 0.5, line), y, short_weekday(day.on)[:2])
            for x, day in enumerate(line.days)
        ),
    )


def date_labels(line: ShelfLine, *, y: int) -> SafeString:
    """Return the date of the first day, and from there of every so many weeks."""
    days = len(line.days)
    weeks_apart = max(1, -(-days // (7 * MOST_DATE_LABELS)))
    return format_html_join(
        "",
        '<text class="shelf-date" x="{}" y="{}">{}</text>',
        (
            (percent(x, line), y, day_label(line.days[x].on))
            for x in range(0, days, 7 * weeks_apart)
            if x <= LAST_DATE_SHARE * days
        ),
    )


def percent(days: float, line: ShelfLine) -> str:
    """Return a number of days as a share of the picture's width."""
    return f"{round(100 * days / len(line.days), 3):g}%"


def _free_spot(
    y: float,
    line: ShelfLine,
    heights: Sequence[float],
    taken: Sequence[Spot],
    floor: int,
) -> Spot:
    above = round(y - WORDS_OFF_LINE_PX, 2)
    below = round(y + WORDS_HEIGHT_PX, 2)
    spots = [
        Spot(at_end, baseline - WORDS_HEIGHT_PX + 2, baseline)
        for baseline, at_end in product((above, below), (False, True))
    ]
    for spot in spots:
        is_clear = not any(spot.clashes_with(other) for other in taken)
        if is_clear and spot.baseline < floor and not _is_crossed(spot, line, heights):
            return spot
    return next(
        (s for s in spots if not any(s.clashes_with(other) for other in taken)),
        spots[0],
    )


def _is_crossed(spot: Spot, line: ShelfLine, heights: Sequence[float]) -> bool:
    """Say whether a step or hatching runs through the words."""
    near = max(2, round(WORDS_SHARE * len(heights)))
    days = slice(-near, None) if spot.at_end else slice(near)
    steps = heights[days]
    is_hatched = any(day.is_short for day in line.days[days])
    lies_on_a_step = any(spot.top - 2 <= y <= spot.baseline + 2 for y in steps)
    spans_a_riser = bool(steps) and min(steps) < spot.top < max(steps)
    return is_hatched or lies_on_a_step or spans_a_riser


def _level_words(name: str, line: ShelfLine) -> str:
    words: dict[str, tuple[str, str, Amount | None]] = {
        "safety": (_("safety {amount}"), line.safety_words, line.safety_base),
        "par": (_("par {amount}"), line.par_words, line.par_base),
    }
    level, said, level_base = words[name]
    return level.format(amount=said or amount_words(level_base, line.unit_words))
