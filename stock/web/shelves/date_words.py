"""What a page says of use-by dates and of how old an entry is."""

from datetime import date, datetime, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from stock.templatetags.words import ago_words, day_words
from stock.web.shelves.shelf_rows import LastEntered

NO_DATE = gettext_lazy("no date")


def use_by_words(use_by: date | None, today: date) -> str:
    """Return a use-by date in words: by Friday; expired as of yesterday.

    The use-by day itself is the last day of use.
    """
    if use_by is None:
        return str(NO_DATE)
    if use_by < today:
        return _("expired as of {day}").format(
            day=day_words(use_by + timedelta(days=1), today)
        )
    return _("by {day}").format(day=day_words(use_by, today))


def is_out_of_date(use_by: date | None, today: date) -> bool:
    """Whether the last day of use is over."""
    return use_by is not None and use_by < today


def entered_words(entered: LastEntered, today: date) -> str:
    """Return how old an entry is: counted 6 days ago; never counted."""
    if entered.counted_at:
        return _("counted {ago}").format(ago=ago_words(_day(entered.counted_at), today))
    if entered.moved_at:
        moved = ago_words(_day(entered.moved_at), today)
        return _("never counted; last entry {moved}").format(moved=moved)
    return _("never")


def _day(at: datetime) -> date:
    return timezone.localtime(at).date()
