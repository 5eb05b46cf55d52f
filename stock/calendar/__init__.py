"""Weekdays, dates, time zones and cut-offs, read and said. Pure."""
