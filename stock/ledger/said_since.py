"""Whether somebody has said since a moment what is on a shelf; then that counts."""

from collections.abc import Sequence
from datetime import datetime
from typing import NamedTuple

from django.utils.translation import gettext_lazy

from stock.ledger.confirming import confirmed_since
from stock.ledger.levels import SETTING_KINDS
from stock.models import CountResult, Movement

# What others said of the shelf since, as the refusal to undo names it.
SINCE_WORDS = {
    Movement.Kind.IMPORTED: gettext_lazy("set from a workbook since"),
    Movement.Kind.CORRECTED: gettext_lazy("set by hand since"),
}
COUNTED_WORDS = gettext_lazy("counted since")


class Written(NamedTuple):
    """What was written of a shelf: as of which moment, and its newest movement."""

    item_id: int
    place_id: int
    at: datetime
    newest_movement_id: int
    posted_at: datetime | None = None  # of a count: as of one moment the later counts


def said_since(
    *, item_id: int, place_id: int, at: datetime, newest_movement_id: int
) -> str:
    """Return how it was said: set by hand since, counted since; "" if nobody did.

    Said of that moment or later, and recorded after that movement; also where it
    was just as on record. Three queries.
    """
    return said_since_each([Written(item_id, place_id, at, newest_movement_id)])[0]


def said_since_each(rows: Sequence[Written]) -> list[str]:
    """Return the same of each, in their order. Three queries, however many."""
    if not rows:
        return []
    item_ids = {row.item_id for row in rows}
    oldest_id = min(row.newest_movement_id for row in rows)
    first_at = min(row.at for row in rows)
    moved = Movement.objects.filter(
        pk__gt=oldest_id, kind__in=SETTING_KINDS, at__gte=first_at, item__in=item_ids
    ).values_list("item_id", "place_id", "at", "pk", "kind")
    confirmed = confirmed_since(oldest_id, at=first_at, item_ids=item_ids).values_list(
        "item_id", "place_id", "at", "newest_movement", "kind"
    )
    # Of a count its results tell: they are gone where it was undone.
    counted = CountResult.objects.filter(
        count__counted_at__gte=first_at, item__in=item_ids
    ).values_list("item_id", "place_id", "count__counted_at", "count__closed_at")
    # What was confirmed after a movement knows it as the newest, or a later one.
    said = [_Said(*row[:3], row[3] - 1, row[4]) for row in moved]
    said += [_Said(*row) for row in confirmed]
    found = [
        _Counted(item_id, place_id, at, closed_at)
        for item_id, place_id, at, closed_at in counted
        if closed_at is not None
    ]
    return [_said_of(row, said, found) for row in rows]


class _Said(NamedTuple):
    """Who set a shelf, or found it as on record: after which movement, and how."""

    item_id: int
    place_id: int
    at: datetime
    after_movement_id: int
    kind: str


class _Counted(NamedTuple):
    """What a posted count found on a shelf."""

    item_id: int
    place_id: int
    counted_at: datetime
    closed_at: datetime


def _said_of(row: Written, said: Sequence[_Said], counted: Sequence[_Counted]) -> str:
    shelf = (row.item_id, row.place_id)
    for each in said:
        is_after = each.after_movement_id >= row.newest_movement_id
        if (each.item_id, each.place_id) == shelf and each.at >= row.at and is_after:
            return str(SINCE_WORDS[Movement.Kind(each.kind)])
    for count in counted:
        posted_at = row.posted_at or row.at
        is_after = (count.counted_at, count.closed_at) > (row.at, posted_at)
        if (count.item_id, count.place_id) == shelf and is_after:
            return str(COUNTED_WORDS)
    return ""
