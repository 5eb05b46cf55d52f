"""Cut-offs: until when a delivery can be ordered. Pure: no Django, no clock.

A cut-off is a moment on the bakery's own clock. Compare moments in UTC: two of one
zone compare by the clock on the wall, which is wrong around a clock change.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from stock.calendar_words import clock_words, days_before_words


@dataclass(frozen=True, slots=True)
class CutOff:
    """So many calendar days before a delivery, at a time of that day."""

    days: int
    time: time

    @property
    def words(self) -> str:
        """The cut-off as people say it.

        >>> CutOff(1, time(14, 0)).words
        '2:00 pm the day before'
        """
        return f"{clock_words(self.time)} {days_before_words(self.days)}"

    def order_by(self, deliver_on: date, zone: ZoneInfo) -> datetime:
        """Return the last moment to order for a delivery, aware, in the zone.

        A time that the clocks skip in spring is read as if they had not been changed
        yet, so 2:30 comes out as 3:30; of a time that comes twice in autumn, the
        first counts.
        """
        cutoff_on = deliver_on - timedelta(days=self.days)
        local = datetime.combine(cutoff_on, self.time, tzinfo=zone)
        return local.astimezone(UTC).astimezone(zone)
