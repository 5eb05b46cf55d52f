"""Keeping the places where things stand."""

from collections.abc import Sequence
from typing import Any

from stock.entry.batches import Batch
from stock.entry.entries import Entry, Kept
from stock.models import Place
from stock.saving import upsert
from stock.saving.sheets import PLACES
from stock.saving.upsert import Keeping, Row
from stock.saving.versions import check_seen


def keep_places(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[upsert.Id] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store places; return what was added, changed and left alone.

    See `stock.saving.upsert` for rows, ids and batch. A fixed number of queries.
    """
    with upsert.together(batch) as own:
        kept: Keeping[Place] = Keeping(PLACES, entries, own, rows=rows, ids=ids)
        kept.match(Place.objects.all(), _values)
        kept.write(
            kept.sound_rows(upsert.PLACES), _assign, Place, ["name", "walk_order"]
        )
    return kept.kept()


def move_in_walk(place_id: int, *, steps: int, seen: int | None = None) -> Kept:
    """Walk a place so many steps later, or earlier below 0, at most to the end.

    The places are numbered anew from 1. One that is not there moves nothing; one that
    is no longer the version that was seen is refused.
    """
    with upsert.together(None) as batch:
        places = {place.pk: place for place in Place.objects.all()}
        ids = list(places)
        if place_id in places:
            check_seen(places[place_id], seen)
            at = ids.index(place_id)
            ids.insert(max(at + steps, 0), ids.pop(at))
        entries = [
            {"place": places[pk].name, "walk_order": number}
            for number, pk in enumerate(ids, start=1)
        ]
        return keep_places(entries, ids=ids, batch=batch)


def place_entries(ids: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return what is stored as entries, in walking order. One query."""
    places = Place.objects.order_by("walk_order", "name")
    if ids is not None:
        places = places.filter(pk__in=ids)
    return [_values(place) for place in places]


def _values(place: Place) -> dict[str, Any]:
    return {"place": place.name, "walk_order": place.walk_order}


def _assign(place: Place, row: Row[Place]) -> None:
    place.name = row.after["place"]
    place.walk_order = row.after["walk_order"]
