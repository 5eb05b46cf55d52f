"""Cut-offs: until when a delivery can be ordered. Pure: no Django, no clock.

A cut-off is a moment on the bakery's own clock. Compare moments in UTC: two of one
zone compare by the clock on the wall, which is wrong around a clock change.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from stock.calendar.calendar_words import clock_words, days_before_words
from stock.calendar.calendars import WEEKDAYS, CalendarTextError, parse_weekdays

DaysByWeekday = tuple[tuple[int, int], ...]  # of the delivery; Monday is 0


@dataclass(frozen=True, slots=True)
class CutOffDays:
    """How many calendar days before a delivery it must be ordered."""

    days: int  # where its weekday has no number of its own: the longest
    by_weekday: DaysByWeekday = ()

    def before(self, deliver_on: date) -> int:
        """Return how many days before this delivery the cut-off lies."""
        return dict(self.by_weekday).get(deliver_on.weekday(), self.days)

    @property
    def text(self) -> str:
        """The days as `parse_cutoff_days` reads them back."""
        own = (f"{WEEKDAYS[weekday]} {days}" for weekday, days in self.by_weekday)
        return "; ".join(own) or str(self.days)


def parse_cutoff_days(text: str) -> CutOffDays:
    """Return the days of a cut-off: one number, or one for each delivery weekday.

    >>> parse_cutoff_days("Thu 2; Mon 4")
    CutOffDays(days=4, by_weekday=((0, 4), (3, 2)))
    """
    words = text.strip()
    if words.isdecimal():
        return CutOffDays(int(words))
    days_by_weekday: dict[int, int] = {}
    for part in filter(None, (part.strip() for part in words.split(";"))):
        name, _other, number = part.rpartition(" ")
        weekdays = parse_weekdays(name)
        if len(weekdays) != 1 or not number.isdecimal():
            raise CalendarTextError(
                _(
                    "{part!r} isn't a delivery day and its days. Write one number for "
                    "all, or one for each: Mon 4; Thu 2."
                ).format(part=part)
            )
        if weekdays[0] in days_by_weekday:
            raise CalendarTextError(
                _("{weekdays} is there twice.").format(weekdays=WEEKDAYS[weekdays[0]])
            )
        days_by_weekday[weekdays[0]] = int(number)
    if not days_by_weekday:
        raise CalendarTextError(
            _("Write days before the delivery: 2, or Mon 4; Thu 2.")
        )
    return CutOffDays(
        max(days_by_weekday.values()), tuple(sorted(days_by_weekday.items()))
    )


@dataclass(frozen=True, slots=True)
class CutOff:
    """So many calendar days before a delivery, at a time of that day."""

    days: int
    time: time
    by_weekday: DaysByWeekday = ()  # where days differ by the delivery's weekday

    @property
    def words(self) -> str:
        """The cut-off as people say it.

        >>> CutOff(1, time(14, 0)).words
        '2:00 pm the day before'
        >>> CutOff(4, time(14, 0), ((0, 4), (3, 1))).words
        '2:00 pm 4 days before (Mon), the day before (Thu)'
        """
        before = [
            f"{days_before_words(days)} ({WEEKDAYS[weekday]})"
            for weekday, days in self.by_weekday
        ] or [days_before_words(self.days)]
        return f"{clock_words(self.time)} {', '.join(before)}"

    def order_by(self, deliver_on: date, zone: ZoneInfo) -> datetime:
        """Return the last moment to order for a delivery, aware, in the zone.

        A time that the clocks skip in spring is read as if they had not been changed
        yet, so 2:30 comes out as 3:30; of a time that comes twice in autumn, the
        first counts.
        """
        days = CutOffDays(self.days, self.by_weekday).before(deliver_on)
        cutoff_on = deliver_on - timedelta(days=days)
        local = datetime.combine(cutoff_on, self.time, tzinfo=zone)
        return local.astimezone(UTC).astimezone(zone)


def read_cut_off(cutoff_days: str, cutoff_time: time) -> CutOff:
    """Return the cut-off of a supplier's days as text, and its time."""
    read = parse_cutoff_days(str(cutoff_days))
    return CutOff(read.days, cutoff_time, read.by_weekday)
