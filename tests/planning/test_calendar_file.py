"""The calendar as other programs read it (RFC 5545; its sections beside the checks)."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest

from planning.exports.calendar_file import CalendarEvent, calendar_file
from tests.build import MONDAY, NOON

CHICAGO = ZoneInfo("America/Chicago")
TWO_PM = datetime(2026, 5, 4, 14, tzinfo=CHICAGO)
CUT_OFF = CalendarEvent("cut-off-1", "Order by 2:00 pm: Dairy", TWO_PM)
CAKE = CalendarEvent("cake-1", "Lemon cake (#2122)", MONDAY)
NASTY = "Crème; a, b\\c \N{BIRTHDAY CAKE}\nBEGIN:VALARM\r\nEND:VEVENT " + "long " * 40


def written(*events: CalendarEvent, name: str = "Quince & Rye") -> bytes:
    return calendar_file(name, events, host="crumb.example", written_at=NOON)


def read(content: bytes) -> list[icalendar.Event]:
    return icalendar.Calendar.from_ical(content).walk("VEVENT")


def test_a_cut_off_is_a_moment_in_the_bakerys_zone():
    content = written(CUT_OFF)
    [event] = read(content)

    assert b"DTSTART;TZID=America/Chicago:20260504T140000\r\n" in content
    assert b"BEGIN:VTIMEZONE\r\nTZID:America/Chicago\r\n" in content  # 3.6.5
    # Chicago keeps summer time in May: five hours behind.
    assert event["dtstart"].dt == datetime(2026, 5, 4, 19, tzinfo=UTC)
    assert "dtend" not in event


def test_a_cake_lasts_all_of_its_day_and_no_longer():
    content = written(CAKE)
    [event] = read(content)

    # The end of a day is the day after it: 3.6.1.
    assert (event["dtstart"].dt, event["dtend"].dt) == (MONDAY, date(2026, 5, 5))
    assert b"DTSTART;VALUE=DATE:20260504\r\n" in content
    assert b"VTIMEZONE" not in content


def test_alarms_ring_from_the_start_of_what_they_are_for():
    alarms = (timedelta(days=-1), timedelta(hours=-2), timedelta(hours=7))
    [event] = read(written(CalendarEvent("cake-1", "Lemon cake", MONDAY, alarms)))

    found = event.walk("VALARM")

    assert [alarm["trigger"].dt for alarm in found] == list(alarms)
    assert {alarm["action"] for alarm in found} == {"DISPLAY"}
    assert {alarm["description"] for alarm in found} == {"Lemon cake"}  # 3.6.6


@pytest.mark.parametrize("field", ["title", "details"])
def test_words_say_the_same_when_they_are_read_back_and_forge_nothing(field):
    words = {"title": "Cake", "details": "", field: NASTY}
    content = written(CalendarEvent("cake-1", starts=MONDAY, **words), CAKE)

    events = read(content)

    assert len(events) == 2
    assert not [alarm for event in events for alarm in event.walk("VALARM")]
    said = str(events[0]["summary" if field == "title" else "description"])
    assert said.replace("\r\n", "\n") == NASTY.replace("\r\n", "\n")


def test_lines_are_folded_at_75_octets_and_end_as_the_standard_has_it():
    content = written(CalendarEvent("cake-1", NASTY, MONDAY))

    *lines, last = content.split(b"\r\n")  # 3.1

    assert last == b""
    assert max(map(len, lines)) <= 75
    assert not any(b"\n" in line or b"\r" in line for line in lines)


def test_characters_that_no_file_can_hold_are_left_out():
    [event] = read(written(CalendarEvent("cake-1", "bu\x07tter\x00", MONDAY)))

    assert event["summary"] == "butter"


def test_an_event_keeps_its_name_and_is_the_hosts_own():
    [first], [again] = read(written(CAKE)), read(written(CAKE))

    assert first["uid"] == again["uid"] == "cake-1@crumb.example"  # 3.8.4.7


def test_a_calendar_without_events_is_one():
    calendar = icalendar.Calendar.from_ical(written())

    assert (calendar["version"], calendar["method"]) == ("2.0", "PUBLISH")
    assert calendar["x-wr-calname"] == "Quince & Rye"
    assert calendar["refresh-interval"].dt == timedelta(hours=1)


def test_what_is_tentative_says_so():
    tentative = CalendarEvent("cake-2", "Plum cake", MONDAY, is_tentative=True)

    statuses = [event["status"] for event in read(written(CAKE, tentative))]

    assert statuses == ["CONFIRMED", "TENTATIVE"]
