"""Deliveries, as the history of an item and the journal of a day name them."""

from collections.abc import Collection

from django.urls import reverse
from django.utils.translation import gettext as _

from planning.models import Delivery
from stock.ledger.documents import Document


def delivery_documents(delivery_ids: Collection[int]) -> dict[int, Document]:
    """Return deliveries by id: their order, its supplier and its page. One query."""
    rows = Delivery.objects.filter(pk__in=delivery_ids).order_by()
    return {
        row.pk: Document(
            _("Delivery of {reference}, {name}").format(
                reference=row.order.reference, name=row.order.supplier.name
            ),
            reverse("planning:order", args=[row.order_id]),
        )
        for row in rows.select_related("order__supplier")
    }
