"""What is coming as a calendar that other programs subscribe to (RFC 5545).

Escaping, folding and time zones are the library's. Nothing here knows a clock: the
moment of writing is handed in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from icalendar import Alarm, Calendar, Event, vDuration

from stock.wording.safe_text import writable

PRODUCT = "-//Tierlarder//What is coming//EN"
ONE_DAY = timedelta(days=1)
ASK_AGAIN_AFTER = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class CalendarEvent:
    """Something that is due: at a moment, or on a day."""

    key: str  # the same each time the calendar is read
    title: str
    starts: date | datetime  # a date lasts all day
    alarms: Sequence[timedelta] = ()  # from its start; of a day, from midnight
    details: str = ""
    link: str = ""
    is_tentative: bool = False


def calendar_file(
    name: str, events: Sequence[CalendarEvent], *, host: str, written_at: datetime
) -> bytes:
    """Return a calendar of events. Keys are made the world's own with the host's name.

    A moment is told in its own zone, which the calendar describes.
    """
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", writable(name))
    ask_again = vDuration(ASK_AGAIN_AFTER)
    ask_again.params["VALUE"] = "DURATION"
    calendar.add("refresh-interval", ask_again)
    for event in events:
        calendar.add_component(_event(event, host, written_at))
    years = [event.starts.year for event in events]
    if years:
        first, last = date(min(years), 1, 1), date(max(years) + 1, 1, 1)
        calendar.add_missing_timezones(first_date=first, last_date=last)
    return bytes(calendar.to_ical())


def _event(event: CalendarEvent, host: str, written_at: datetime) -> Event:
    component = Event()
    component.add("uid", f"{event.key}@{host}")
    component.add("dtstamp", written_at)
    component.add("dtstart", event.starts)
    if not isinstance(event.starts, datetime):
        component.add("dtend", event.starts + ONE_DAY)
    component.add("summary", writable(event.title))
    if event.details:
        component.add("description", writable(event.details))
    if event.link:
        component.add("url", event.link)
    component.add("status", "TENTATIVE" if event.is_tentative else "CONFIRMED")
    component.add("transp", "TRANSPARENT")  # nobody is busy by it
    for before in event.alarms:
        component.add_component(_alarm(event, before))
    return component


def _alarm(event: CalendarEvent, before: timedelta) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", writable(event.title))
    alarm.add("trigger", before)
    return alarm
