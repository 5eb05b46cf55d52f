"""Whether somebody has said since a moment what is on a shelf; then that counts."""

from datetime import datetime

from django.db.models import Q

from stock.ledger.confirming import confirmed_since
from stock.ledger.levels import SETTING_KINDS
from stock.models import CountResult, Movement

# What others said of the shelf since, as the refusal to undo names it.
SINCE_WORDS = {
    Movement.Kind.IMPORTED: "set from a workbook since",
    Movement.Kind.CORRECTED: "set by hand since",
}
COUNTED_WORDS = "counted since"


def said_since(
    *, item_id: int, place_id: int, at: datetime, newest_movement_id: int
) -> str:
    """Return how it was said: set by hand since, counted since; "" if nobody did.

    Said of that moment or later, and recorded after that movement; also where it
    was just as on record. Three queries.
    """
    shelf = {"item_id": item_id, "place_id": place_id}
    said = Movement.objects.filter(
        pk__gt=newest_movement_id, kind__in=SETTING_KINDS, at__gte=at, **shelf
    ).first()
    if said is not None:
        return SINCE_WORDS[Movement.Kind(said.kind)]
    confirmed = confirmed_since(newest_movement_id, at=at, item_ids=[item_id])
    if (found := confirmed.filter(place_id=place_id).first()) is not None:
        return SINCE_WORDS[Movement.Kind(found.kind)]
    later = Q(count__counted_at__gt=at) | Q(
        count__counted_at=at, count__closed_at__gt=at
    )
    # Of a count its results tell: they are gone where it was undone.
    if CountResult.objects.filter(later, **shelf).exists():
        return COUNTED_WORDS
    return ""
