"""How a day and a moment are said, as a page or a command hands it to the words.

A terminal says `Fri May 8`, a page `Friday`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

# Days that need no "on" before them, and how others of that kind begin.
BARE_DAYS = (
    *(gettext_lazy("today"), gettext_lazy("tomorrow"), gettext_lazy("yesterday")),
)
LAST_WEEKDAY = gettext_lazy("last {weekday}")


def is_bare(words: str) -> bool:
    """Whether a day stands without "on": today, last Friday."""
    return words in BARE_DAYS or words.startswith(LAST_WEEKDAY.partition("{")[0])


@dataclass(frozen=True, slots=True)
class Telling:
    """How a day and a moment are said."""

    day: Callable[[date], str]
    moment: Callable[[datetime], str]

    def on_day(self, on: date) -> str:
        """Return a day as it stands in a sentence: today, last Friday, on Friday."""
        words = self.day(on)
        return words if is_bare(words) else _("on {words}").format(words=words)
