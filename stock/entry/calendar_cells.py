"""The kinds of cells that hold dates, times, weekdays and time zones.

Pure: no Django, no clock. See `stock.entry.cells` for what a kind is.
"""

import re
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from stock.calendar import calendars
from stock.calendar.cut_offs import parse_cutoff_days
from stock.entry.cells import CellError, Text, plain_text

MOST_CUTOFF_DAYS = 366  # no supplier asks for an order more than a year ahead


@dataclass(frozen=True, slots=True)
class Day:
    """A date: a date cell or ISO text. Its year is checked, or the job does that."""

    any_year: bool = False

    def parse(self, value: object) -> date:
        """Return the date."""
        day = self._day(value)
        if not self.any_year and not calendars.is_believable(day):
            raise CellError(calendars.too_far_away(day))
        return day

    def _day(self, value: object) -> date:
        if isinstance(value, datetime):
            if value.time() != time(0):
                raise CellError(
                    _("{value} has a time in it. Write the date alone.").format(
                        value=value
                    )
                )
            return value.date()
        if isinstance(value, date):
            return value
        if not isinstance(value, str):
            raise CellError(
                _(
                    "{plain_text!r} isn't a date. Use a date cell, or write it like "
                    "2026-05-09."
                ).format(plain_text=plain_text(value))
            )
        try:
            return calendars.parse_date(value)
        except calendars.CalendarTextError as error:
            raise CellError(str(error)) from error

    def cell(self, value: Any) -> object:
        """Return the date; as text where no spreadsheet has it, None for none."""
        if value is not None and not calendars.is_believable(value):
            return self.text(value)
        return value

    def text(self, value: Any) -> str:
        """Return the ISO date."""
        return "" if value is None else value.isoformat()


@dataclass(frozen=True, slots=True)
class Clock:
    """A time of day, to the minute."""

    def parse(self, value: object) -> time:
        """Return the time."""
        if isinstance(value, time):
            return value.replace(second=0, microsecond=0)
        match = re.fullmatch(r"(\d{1,2}):(\d{2})(:\d{2})?", plain_text(value))
        if not match or int(match[1]) > 23 or int(match[2]) > 59:
            raise CellError(
                _("{plain_text!r} isn't a time of day. Write it like 14:00.").format(
                    plain_text=plain_text(value)
                )
            )
        return time(int(match[1]), int(match[2]))

    def cell(self, value: Any) -> object:
        """Return the time; None for none."""
        return value

    def text(self, value: Any) -> str:
        """Return hours and minutes."""
        return "" if value is None else f"{value:%H:%M}"


@dataclass(frozen=True, slots=True)
class Weekdays(Text):
    """Days of the week, as text in week order: `Tue Fri`."""

    def parse(self, value: object) -> str:
        """Return the days by their short names."""
        try:
            days = calendars.parse_weekdays(plain_text(value))
        except calendars.CalendarTextError as error:
            raise CellError(str(error)) from error
        return calendars.write_weekdays(days)


@dataclass(frozen=True, slots=True)
class CutOffDaysText(Text):
    """Days before a delivery: `2`, or for each of its weekdays `Mon 4; Thu 2`."""

    def parse(self, value: object) -> str:
        """Return the days in one spelling."""
        try:
            read = parse_cutoff_days(plain_text(value))
        except calendars.CalendarTextError as error:
            raise CellError(str(error)) from error
        if read.days > MOST_CUTOFF_DAYS:
            raise CellError(
                _("It must be at most {most_cutoff_days} days before.").format(
                    most_cutoff_days=MOST_CUTOFF_DAYS
                )
            )
        return read.text

    def cell(self, value: Any) -> object:
        """Return a number where one number holds for every delivery."""
        text = self.text(value)
        return int(text) if text.isdecimal() else text or None

    def text(self, value: Any) -> str:
        """Return the days as text."""
        return "" if value is None else str(value)


@dataclass(frozen=True, slots=True)
class Days(Text):
    """Dates, as text in order: `2026-12-25; 2027-01-01`. One date cell serves too."""

    max_length: int = 4000

    def parse(self, value: object) -> str:
        """Return the ISO dates."""
        try:
            days = calendars.parse_dates(plain_text(value))
        except calendars.CalendarTextError as error:
            raise CellError(str(error)) from error
        for day in days:
            if not calendars.is_believable(day):
                raise CellError(calendars.too_far_away(day))
        return calendars.write_dates(days)


@dataclass(frozen=True, slots=True)
class TimeZone(Text):
    """A time zone by its IANA name."""

    def parse(self, value: object) -> str:
        """Return the name."""
        text = Text.parse(self, value)
        try:
            ZoneInfo(text)
        except (ValueError, OSError, LookupError) as error:
            raise CellError(
                _('"{text}" isn\'t a time zone. Write it like America/Chicago.').format(
                    text=text
                )
            ) from error
        return text
