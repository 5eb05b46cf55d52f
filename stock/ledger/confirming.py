"""What somebody found just as it was on record: no movement comes of it.

It is kept all the same, one row a shelf: whoever undoes or corrects what was written
before it has to know that somebody has said since what is there. Saying again what was
said last, of a shelf on which nothing has moved since, adds nothing to it.
"""

from collections.abc import Collection, Iterable, Mapping
from datetime import datetime
from typing import NamedTuple

from django.db import connections
from django.db.models import Max, QuerySet

from stock.models import Confirmation, Movement


class _Word(NamedTuple):
    """What was written of a shelf last, or found there since: how, as of when."""

    kind: str
    at: datetime


def confirm(
    shelves: Iterable[tuple[int, int]], *, at: datetime, kind: str, by_id: int | None
) -> None:
    """Keep that shelves, by item and place id, were found as on record at a moment.

    The caller holds their items' lock. What was said of a later moment stays. So does
    what is said again: of the same moment, or by an import, which repeats a file and
    has not looked at the shelf anew. Four queries, none without shelves.
    """
    found = set(shelves)
    if not found:
        return
    item_ids = {item_id for item_id, _ in found}
    stored = {
        (row.item_id, row.place_id): row
        for row in Confirmation.objects.filter(item_id__in=item_ids)
    }
    last_words = _last_words(stored, item_ids)
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
            if not (shelf in stored and stored[shelf].at > at)
            and not _says_again(last_words.get(shelf), kind, at)
        ),
        update_conflicts=True,
        unique_fields=["item", "place"],
        update_fields=["kind", "at", "by", "newest_movement"],
    )


def _last_words(
    stored: Mapping[tuple[int, int], Confirmation], item_ids: Collection[int]
) -> dict[tuple[int, int], _Word]:
    """Return what was said or moved last of each shelf of some items. One query."""
    of_items = Movement.objects.order_by().filter(item_id__in=item_ids)
    newest = of_items.values("item_id", "place_id").annotate(newest=Max("pk"))
    words = {}
    for row in Movement.objects.order_by().filter(pk__in=newest.values("newest")):
        shelf = (row.item_id, row.place_id)
        words[shelf] = _Word(row.kind, row.at)
        if shelf in stored and stored[shelf].newest_movement >= row.pk:
            words[shelf] = _Word(stored[shelf].kind, stored[shelf].at)
    for shelf in stored.keys() - words.keys():
        words[shelf] = _Word(stored[shelf].kind, stored[shelf].at)
    return words


def _says_again(last: _Word | None, kind: str, at: datetime) -> bool:
    """Whether the last word of a shelf was this one already."""
    if last is None or last.kind != kind:
        return False
    return kind == Movement.Kind.IMPORTED or last.at == at


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
