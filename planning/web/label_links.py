"""Where the labels of what came or was made are printed."""

from collections.abc import Iterable

from django.urls import reverse
from django.utils.http import urlencode

from planning.models import BakeLine, DeliveryLine


def labels_of(lines: Iterable[BakeLine | DeliveryLine]) -> str:
    """Return the address of the labels of what lines brought; blank if nothing."""
    lot_ids = dict.fromkeys(line.lot_id for line in lines if line.lot_id)
    query = urlencode([("lot", lot_id) for lot_id in lot_ids])
    return f"{reverse('planning:print_labels')}?{query}" if query else ""
