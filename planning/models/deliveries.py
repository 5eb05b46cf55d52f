"""Deliveries: what came of an order in one visit, and what of it was undone."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy

from planning.models.orders import Order, OrderLine
from stock.models.fields import AmountField


class Delivery(models.Model):
    """One visit of a supplier, as it was recorded at the door; never changed.

    Undoing it writes counter-movements and says who did so.
    """

    order = models.ForeignKey(Order, models.PROTECT, related_name="deliveries")
    key = models.CharField(
        max_length=80,
        unique=True,
        help_text="Given by whoever may send it twice; the second time is nothing.",
    )
    received_on = models.DateField(help_text="The day on which it came.")
    at = models.DateTimeField(help_text="When it was recorded.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        verbose_name_plural = gettext_lazy("deliveries")
        ordering = ["order_id", "pk"]

    def __str__(self) -> str:
        return f"Delivery {self.pk}"


class DeliveryLine(models.Model):
    """What came of one order line: so many packs, as one lot, into one place."""

    delivery = models.ForeignKey(Delivery, models.CASCADE, related_name="lines")
    line = models.ForeignKey(OrderLine, models.PROTECT, related_name="deliveries")
    packs = models.PositiveIntegerField()
    closes = models.BooleanField(
        default=False, help_text="Whether what did not come was closed."
    )
    amount_base = AmountField(default=0)
    place = models.ForeignKey(
        "stock.Place", models.PROTECT, null=True, blank=True, related_name="+"
    )
    lot = models.ForeignKey(
        "stock.Lot", models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["delivery_id", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["delivery", "line"], name="line_once_a_delivery"
            ),
            models.CheckConstraint(
                condition=models.Q(packs=0, lot__isnull=True, place__isnull=True)
                | models.Q(packs__gt=0, lot__isnull=False, place__isnull=False),
                name="what_came_has_its_lot_and_place",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} of line {self.line_id}"
