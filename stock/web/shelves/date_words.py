"""What a page says of use-by dates and of how old an entry is."""

from datetime import date, datetime, timedelta

from django.utils import timezone

from stock.templatetags.words import ago_words, day_words
from stock.web.shelves.shelf_rows import Entered

NO_DATE = "no date"


def use_by_words(use_by: date | None, today: date) -> str:
    """Return a use-by date in words: by Friday; expired as of yesterday.

    The use-by day itself is the last day of use.
    """
    if use_by is None:
        return NO_DATE
    if use_by < today:
        return f"expired as of {day_words(use_by + timedelta(days=1), today)}"
    return f"by {day_words(use_by, today)}"


def is_out_of_date(use_by: date | None, today: date) -> bool:
    """Whether the last day of use is over."""
    return use_by is not None and use_by < today


def entered_words(entered: Entered, today: date) -> str:
    """Return how old an entry is: counted 6 days ago; never counted."""
    if entered.counted_at:
        return f"counted {ago_words(_day(entered.counted_at), today)}"
    if entered.moved_at:
        moved = ago_words(_day(entered.moved_at), today)
        return f"never counted; last entry {moved}"
    return "never"


def _day(at: datetime) -> date:
    return timezone.localtime(at).date()
