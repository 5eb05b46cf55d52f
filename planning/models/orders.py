"""Orders to suppliers: one truck each, from draft to received."""

from django.db import models
from django.db.models.functions import Lower

from stock.models.fields import PriceField


class Order(models.Model):
    """What one supplier is asked to bring on one day."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        APPROVED = "approved", "Approved"
        SENT = "sent", "Sent"
        PART_RECEIVED = "part received", "Part received"
        RECEIVED = "received", "Received"
        CANCELLED = "cancelled", "Cancelled"

    OPEN_STATES = (State.SENT, State.PART_RECEIVED)

    reference = models.CharField(max_length=60)
    supplier = models.ForeignKey(
        "stock.Supplier", models.PROTECT, related_name="orders"
    )
    deliver_on = models.DateField()
    order_by = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=14, choices=State.choices, default=State.DRAFT)
    drafted_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["deliver_on", "supplier__name", "reference"]
        constraints = [
            models.UniqueConstraint(
                Lower("reference"),
                name="order_reference_once",
                violation_error_message="There is an order of this number already.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference


class OrderLine(models.Model):
    """So many packs of one kind, at the price expected when they were ordered."""

    order = models.ForeignKey(Order, models.CASCADE, related_name="lines")
    pack = models.ForeignKey("stock.Pack", models.PROTECT, related_name="order_lines")
    packs = models.PositiveIntegerField()
    received_packs = models.PositiveIntegerField(default=0)
    price = PriceField("price of one pack", default=0)
    due_on = models.DateField()
    because = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["order_id", "pack__item__name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["order", "pack"], name="pack_once_an_order"
            ),
            models.CheckConstraint(
                condition=models.Q(packs__gte=1),
                name="order_line_from_one_pack",
                violation_error_message="Order at least one pack, or no line at all.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} x {self.pack_id}"
