"""Counts that nobody closed: for how long they are open, and what to do."""

from datetime import date, timedelta

from django.utils import timezone
from django.utils.translation import gettext as _

from stock.models import Count

# A walk begun in the evening and posted the next day is nothing to speak of.
# Our choice.
SPEAK_AFTER = timedelta(days=2)


def open_words(count: Count, today: date) -> str:
    """Return for how many days a count is open; blank before two days."""
    open_for = today - timezone.localtime(count.opened_at).date()
    if not count.is_live or open_for < SPEAK_AFTER:
        return ""
    return _("Open for {days} days: post it, or discard it and start anew.").format(
        days=open_for.days
    )


def oldest_open_words(today: date) -> str:
    """Return the same of the count that is open longest, with its places.

    Two queries at most.
    """
    live = Count.objects.filter(state__in=Count.LIVE_STATES)
    oldest = live.order_by("opened_at").first()
    words = open_words(oldest, today) if oldest else ""
    if oldest is None or not words:
        return ""
    places = ", ".join(place.name for place in oldest.places.all())
    return _("The count of {places}: {words}{words2}").format(
        places=places, words=words[0].lower(), words2=words[1:]
    )
