"""The secret address of each person's calendar: made, made anew, removed."""

import secrets
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext_lazy

from planning.models import CalendarFeed
from stock.saving.upsert import wait_for_turn
from stock.saving.versions import UNSEEN, ChangedSinceError, check_seen

SECRET_BYTES = 24  # 192 bits: nobody guesses it
LABEL = gettext_lazy("Your calendar address")


def feed_of(person_id: int) -> CalendarFeed | None:
    """Return a person's address; None where none was made. One query."""
    return CalendarFeed.objects.filter(person_id=person_id).first()


def reader_of(secret: str) -> User | None:
    """Return whose secret this is, if they may still sign in. One query."""
    feed = (
        CalendarFeed.objects.filter(secret=secret, person__is_active=True)
        .select_related("person")
        .first()
    )
    return feed.person if feed else None


@transaction.atomic
def make_address(person_id: int, *, seen: int, at: datetime) -> CalendarFeed:
    """Give a person a new address; the one before it stops working.

    `seen` is the version of the address that the person saw, UNSEEN for none: a second
    tap makes no third address.
    """
    wait_for_turn()
    feed = feed_of(person_id)
    if feed is None:
        feed = CalendarFeed(person_id=person_id, version=UNSEEN)
    elif feed.version != seen:
        raise ChangedSinceError(str(LABEL), feed.version)
    feed.secret, feed.made_at = secrets.token_urlsafe(SECRET_BYTES), at
    feed.version += 1
    feed.save()
    return feed


@transaction.atomic
def remove_address(person_id: int, *, seen: int) -> None:
    """Stop a person's address from working; without one nothing changes."""
    wait_for_turn()
    feed = feed_of(person_id)
    if feed is not None:
        check_seen(feed, seen, label=str(LABEL))
        feed.delete()
