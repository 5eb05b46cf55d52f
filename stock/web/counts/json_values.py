"""Values out of what a phone sends, each refused where it is not what it should be."""

from datetime import date

LARGEST_ID = 2**63 - 1


def whole(value: object) -> int:
    """Return a number that a row may have; raises TypeError or ValueError."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError(value)
    if not 0 <= value <= LARGEST_ID:
        raise ValueError(value)
    return value


def text(value: object) -> str:
    """Return a text that can be stored; raises TypeError or UnicodeError."""
    if not isinstance(value, str) or "\0" in value:
        raise TypeError(value)
    value.encode()  # half a character, as some keyboards send it, cannot be stored
    return value


def day(value: object) -> date | None:
    """Return a date, None where there is none; raises TypeError or ValueError."""
    return date.fromisoformat(text(value)) if value else None
