"""What is on hand of each item, as tests look at it."""

from collections import defaultdict
from datetime import datetime
from decimal import Decimal

from stock.ledger import levels
from stock.models import Place


def on_hand_base_by_item(
    *, place: Place | int | None = None, at: datetime | None = None
) -> dict[int, Decimal]:
    """Return what is on hand by item id, in a place or everywhere.

    An item that has not moved there by then is absent: not counted is not zero.
    """
    wanted = place.pk if isinstance(place, Place) else place
    totals: dict[int, Decimal] = defaultdict(Decimal)
    for (item_id, place_id), base in levels.on_hand_base_by_shelf(at=at).items():
        if wanted in (None, place_id):
            totals[item_id] += base
    return dict(totals)
