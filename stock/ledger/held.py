"""Which lots are on hold now: the one definition, for queries."""

from django.db.models import Exists, OuterRef

from stock.models import Hold


def is_held(lot_id: OuterRef) -> Exists:
    """Return whether a query's lot is on hold, to filter by or to annotate with."""
    return Exists(Hold.objects.order_by().filter(lot_id=lot_id, released_at=None))


def is_on_hold(lot_id: int | None) -> bool:
    """Whether one lot is on hold; no lot is not. One query."""
    if lot_id is None:
        return False
    return Hold.objects.filter(lot_id=lot_id, released_at=None).exists()
