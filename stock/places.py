"""Keeping the places where things stand."""

from collections.abc import Sequence
from typing import Any

from stock import keeping
from stock.batches import Batch
from stock.entries import Entry, Kept
from stock.keeping import Keeping, Row
from stock.models import Place
from stock.sheets import PLACES


def keep_places(
    entries: Sequence[Entry],
    *,
    rows: Sequence[int] | None = None,
    ids: Sequence[int | None] | None = None,
    batch: Batch | None = None,
) -> Kept:
    """Store places; return what was added, changed and left alone.

    See `stock.keeping` for rows, ids and batch. A fixed number of queries.
    """
    with keeping.together(batch) as own:
        kept: Keeping[Place] = Keeping(PLACES, entries, own, rows=rows, ids=ids)
        kept.match(Place.objects.all(), _values)
        kept.write(
            kept.sound_rows(keeping.PLACES), _assign, Place, ["name", "walk_order"]
        )
    return kept.kept()


def rename_place(place_id: int, name: str) -> Kept:
    """Call a place by another name; everything in it stays there."""
    return keep_places([{"place": name}], ids=[place_id])


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
