"""What is said of suggested orders: records of figures, put into words at the doors.

A record names things by their index in the kitchen, days as dates, amounts in base
units of their node. `planning.sentences` has a sentence for each.
"""

from dataclasses import dataclass


class Reason:
    """Why so much of something is on an order."""

    __slots__ = ()


class OrderWarning:
    """What needs a look about some orders, and blocks nothing."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class StoredSentence(Reason, OrderWarning):
    """What was said of stored orders, in the words of then."""

    words: str


def said_words(record: Reason | OrderWarning) -> str:
    """Return the words of what was said; any other record is a TypeError."""
    if not isinstance(record, StoredSentence):
        raise TypeError(f"{type(record).__name__} was not put into words")
    return record.words
