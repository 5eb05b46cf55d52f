"""The shelf line: an item's days as one thin strip, drawn as inline SVG.

A filled step area for what is on the shelf when each day ends, a line for safety and
one for par, heavy on the days on which par is asked for, ticks under deliveries,
hatching on the days it is short. Amounts are in
the item's own base unit. Across, the strip is as wide as its frame and a day is a
share of it; down, it is measured in px. Colours and weights are the stylesheet's.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from planning.web.shelf.shelf_days import Amount, ShelfDay, ShelfLine
from planning.web.shelf.shelf_labels import (
    date_labels,
    describe,
    level_labels,
    percent,
    span_words,
    weekday_labels,
)

__all__ = ["FRAMES", "ShelfDay", "ShelfLine", "draw"]

HEADROOM_FRACTION = 0.06  # above the fullest day, so that its edge is seen


@dataclass(frozen=True, slots=True)
class Frame:
    """Where things stand in one size of the picture, in px from its top."""

    height: int
    plot_top: int
    floor: int
    tick_end: int
    has_labels: bool


FRAMES = {
    "row": Frame(height=40, plot_top=2, floor=32, tick_end=40, has_labels=False),
    "item": Frame(height=216, plot_top=16, floor=160, tick_end=172, has_labels=True),
    "print": Frame(height=128, plot_top=12, floor=80, tick_end=90, has_labels=True),
}


def draw(line: ShelfLine, size: str = "row") -> SafeString:
    """Return the picture in one of the sizes of FRAMES, with its text alternative."""
    frame = FRAMES[size]
    return format_html(
        '<svg class="shelf-line shelf-line-{}" role="img" width="100%" height="{}">'
        "<title>{}</title><desc>{}</desc>{}{}{}{}{}{}</svg>",
        size,
        frame.height,
        f"{line.item_name}, {span_words(line)}",
        describe(line),
        _steps(line, frame),
        _hatching(line, frame),
        _levels(line, frame),
        _par_days(line, frame),
        _ticks(line, frame),
        _day_labels(line, frame) if frame.has_labels else "",
    )


def y_px(amount_base: Amount, *, line: ShelfLine, frame: Frame) -> float:
    """Return how far down an amount stands; less than nothing stands on the floor."""
    fullest = max(
        *(float(day.closing_base) for day in line.days),
        float(line.safety_base or 0),
        float(line.par_base or 0),
        0.0,
        0.0,
    )
    if fullest <= 0:
        return float(frame.floor)
    share = max(float(amount_base), 0.0) / fullest / (1 + HEADROOM_FRACTION)
    return round(frame.floor - share * (frame.floor - frame.plot_top), 2)


def _steps(line: ShelfLine, frame: Frame) -> SafeString:
    """Return the step area and its edge, in an inner picture one unit a day wide."""
    heights = _heights(line, frame)
    if not heights:
        return SafeString("")
    edge = "".join(f"V{height:g}H{x + 1}" for x, height in _changes(heights))
    low = "".join(
        f"M{x} {heights[x]:g}h1" for x, day in enumerate(line.days) if day.below_safety
    )
    return format_html(
        '<svg width="100%" height="{}" viewBox="0 0 {} {}" preserveAspectRatio="none">'
        '<path class="shelf-area" d="M0 {}{}V{}Z"/>'
        '<path class="shelf-edge" vector-effect="non-scaling-stroke" d="M0 {}{}"/>'
        '<path class="shelf-low" vector-effect="non-scaling-stroke" d="{}"/></svg>',
        frame.height,
        len(heights),
        frame.height,
        frame.floor,
        edge,
        frame.floor,
        f"{heights[0]:g}",
        edge,
        low,
    )


def _heights(line: ShelfLine, frame: Frame) -> list[float]:
    return [y_px(day.closing_base, line=line, frame=frame) for day in line.days]


def _changes(heights: Sequence[float]) -> Iterator[tuple[int, float]]:
    """Yield each run of equal days as its last day and its height."""
    for height, run in groupby(enumerate(heights), key=lambda pair: pair[1]):
        yield list(run)[-1][0], height


def _hatching(line: ShelfLine, frame: Frame) -> SafeString:
    """Return one hatched patch for each run of short days.

    The hatching is one broad dashed stroke, sheared and cut to the patch: no
    pattern whose id could clash with that of the next picture on the page.
    """
    height = frame.floor - frame.plot_top
    return format_html_join(
        "",
        '<svg class="shelf-short" x="{}" y="{}" width="{}" height="{}">'
        '<line class="shelf-hatch" x1="0" y1="{}" x2="4000" y2="{}" stroke-width="{}"'
        ' transform="skewX(-45)"/></svg>',
        (
            (
                percent(first, line),
                frame.plot_top,
                percent(days, line),
                height,
                height / 2,
                height / 2,
                height,
            )
            for first, days in _short_runs(line)
        ),
    )


def _short_runs(line: ShelfLine) -> Iterator[tuple[int, int]]:
    days = enumerate(line.days)
    for is_short, run in groupby(days, key=lambda pair: pair[1].is_short):
        if is_short:
            places = [x for x, _ in run]
            yield places[0], len(places)


def _levels(line: ShelfLine, frame: Frame) -> SafeString:
    """Return the floor, the safety and par lines and, where there is room, words."""
    level_y = {
        name: y_px(amount_base, line=line, frame=frame)
        for name, amount_base in (("safety", line.safety_base), ("par", line.par_base))
        if amount_base and amount_base > 0
    }
    lines = format_html_join(
        "",
        '<line class="shelf-{0}" x1="0" x2="100%" y1="{1}" y2="{1}"/>',
        [("floor", frame.floor), *level_y.items()],
    )
    if not frame.has_labels:
        return lines
    return lines + level_labels(line, level_y, _heights(line, frame), floor=frame.floor)


def _par_days(line: ShelfLine, frame: Frame) -> SafeString:
    """Return the par line once more, heavy, on the days on which par is asked for."""
    if not line.par_base:
        return SafeString("")
    return format_html_join(
        "",
        '<line class="shelf-par-day" x1="{0}" x2="{1}" y1="{2}" y2="{2}"/>',
        (
            (
                percent(x, line),
                percent(x + 1, line),
                y_px(line.par_base, line=line, frame=frame),
            )
            for x, day in enumerate(line.days)
            if day.is_par_day
        ),
    )


def _ticks(line: ShelfLine, frame: Frame) -> SafeString:
    return format_html_join(
        "",
        '<line class="shelf-tick" x1="{0}" x2="{0}" y1="{1}" y2="{2}"/>',
        (
            (percent(x + 0.5, line), frame.floor + 1, frame.tick_end)
            for x, day in enumerate(line.days)
            if day.received_base > 0
        ),
    )


def _day_labels(line: ShelfLine, frame: Frame) -> SafeString:
    first_row, second_row = frame.tick_end + 14, frame.tick_end + 34
    weekdays = weekday_labels(line, y=first_row)
    return weekdays + date_labels(line, y=second_row if weekdays else first_row)
