"""What planned cakes lack before the weekend is over, and how much more there is."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from planning.engine.plan import Shortfall, ShortfallKind
from planning.web.page_words import PageWords
from planning.web.shortfalls.shortfall_rows import ShortfallRow, shortfall_rows

SATURDAY, SUNDAY = 5, 6
MOST_SHOWN = 3


@dataclass(frozen=True, slots=True)
class ShortSoon:
    """The first items to run short by a day, and how many there are of each gap.

    The counts are those of the Shortfalls page, for the whole plan.
    """

    rows: Sequence[ShortfallRow]
    soon_count: int  # short by that day, shown or not
    short_count: int
    below_safety_count: int
    by_hand_count: int  # what no delivery saves: Rescue lists it


def weekend_end(today: date) -> date:
    """Return the Sunday of the next weekend; on a weekend, of the one after it.

    >>> weekend_end(date(2026, 5, 8)), weekend_end(date(2026, 5, 9))
    (datetime.date(2026, 5, 10), datetime.date(2026, 5, 17))
    """
    ahead_days = SUNDAY - today.weekday()
    return today + timedelta(
        days=ahead_days + (7 if today.weekday() >= SATURDAY else 0)
    )


def short_soon(words: PageWords, until: date) -> ShortSoon:
    """Return what is short by a day, the first day first. Two queries."""
    found = words.planned.plan.shortfalls
    short = [row for row in found if row.kind is ShortfallKind.OUT]
    soon = [row for row in short if row.first_on <= until]
    soon.sort(key=lambda row: _gravity(words, row))
    below = [row for row in found if row.kind is ShortfallKind.BELOW_SAFETY]
    return ShortSoon(
        rows=shortfall_rows(words, soon[:MOST_SHOWN]),
        soon_count=len(soon),
        short_count=len(short),
        below_safety_count=len(below),
        by_hand_count=len(words.planned.ways_out.lost),
    )


def _gravity(words: PageWords, row: Shortfall) -> tuple[date, bool, str]:
    """What comes first: the day, then what no delivery saves, then the name."""
    can_come = words.planned.ways_out.of(row).delivery is not None
    name = words.planned.kitchen.nodes.names[row.node]
    return row.first_on, can_come, name.casefold()
