"""Counts for tests: entries as a device would send them, and how a count stands."""

from datetime import timedelta
from itertools import count as running
from uuid import uuid4

from stock.counts import counting
from stock.counts.lines import EntryIn, counted_base_by_shelf
from stock.counts.review import review
from stock.counts.sheets import look
from tests.build import NOON
from tests.on_hand import on_hand_base_by_item

_sequence = running(1)


def opened(*places, counted_at=NOON, by=None):
    return counting.open_count(
        counted_at=counted_at,
        at=counted_at + timedelta(minutes=1),
        place_ids=[place.pk for place in places] or None,
        by_id=by.pk if by else None,
    )


def entry(count, item, text, *, place=None, by=None, after_minutes=5, **fields):
    """What somebody typed on one line, minutes after the moment of the count."""
    usual = {
        "key": uuid4(),
        "count_id": count.pk,
        "place_id": (place or item.place).pk,
        "item_id": item.pk,
        "text": text,
        "by_id": by.pk if by else None,
        "device": "phone",
        "sequence": next(_sequence),
        "entered_at": count.counted_at + timedelta(minutes=after_minutes),
    }
    return EntryIn(**usual | fields)


def take(*entries, at=None, sent_by=None):
    """Send entries: as soon as they were made, unless the test says when they came."""
    return counting.take_entries(
        entries,
        at=at or max((entry.entered_at for entry in entries), default=NOON),
        sent_by_id=sent_by.pk if sent_by else None,
    )


def enter(count, item, text, *, at=None, **fields):
    """Send one entry, and return its answer."""
    (answer,) = take(entry(count, item, text, **fields), at=at)
    return answer


def counted(count):
    """What the count has come to by place and item, in base units."""
    return counted_base_by_shelf(look(count.pk).standings)


def amount(count, item):
    """What the count has come to of an item in its place; None: not counted."""
    return counted(count).get((item.place_id, item.pk))


def conflicts(count):
    """The names of items with two figures that are to be decided."""
    rows = review(count.pk).rows
    return tuple(row.item.name for row in rows if row.is_conflict)


def posted(count, **fields):
    """Post a count, as it was entered unless the test says otherwise."""
    counting.send_to_review(count.pk)
    usual = {"at": NOON + timedelta(hours=2), "as_entered": True}
    return counting.post_count(count.pk, **usual | fields)


def on_hand(*, place=None):
    return on_hand_base_by_item(place=place)
