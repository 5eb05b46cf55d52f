"""What somebody found just as it was on record: no movement comes of it.

It is kept all the same, one row a shelf: whoever undoes or corrects what was written
before it has to know that somebody has said since what is there.
"""

from collections.abc import Collection, Iterable
from datetime import datetime

from django.db import connections
from django.db.models import Max, QuerySet

from stock.models import Confirmation, Movement


def confirm(
    shelves: Iterable[tuple[int, int]], *, at: datetime, kind: str, by_id: int | None
) -> None:
    """Keep that shelves, by item and place id, were found as on record at a moment.

    The caller holds their items' lock. What was said of a later moment stays. Three
    queries, none without shelves.
    """
    found = set(shelves)
    if not found:
        return
    item_ids = {item_id for item_id, _ in found}
    said_at = {
        (row.item_id, row.place_id): row.at
        for row in Confirmation.objects.filter(item_id__in=item_ids)
    }
    newest = Movement.objects.order_by().aggregate(newest=Max("pk"))["newest"] or 0
    Confirmation.objects.bulk_create(
        (
            Confirmation(
                item_id=shelf[0],
                place_id=shelf[1],
                kind=kind,
                at=at,
                by_id=by_id,
                newest_movement=newest,
            )
            for shelf in sorted(found)
            if said_at.get(shelf, at) <= at
        ),
        update_conflicts=True,
        unique_fields=["item", "place"],
        update_fields=["kind", "at", "by", "newest_movement"],
    )


def confirmed_since(
    movement_id: int, *, at: datetime, item_ids: Collection[int]
) -> QuerySet[Confirmation]:
    """Return what was confirmed after a movement was written, of a moment not before.

    With its item and place. One query.
    """
    return Confirmation.objects.filter(
        newest_movement__gte=movement_id, at__gte=at, item_id__in=item_ids
    ).select_related("item", "place")


def is_kept(using: str) -> bool:
    """Whether a database keeps them: one of an older program does not. One query."""
    tables = connections[using].introspection.table_names()
    return Confirmation._meta.db_table in tables
