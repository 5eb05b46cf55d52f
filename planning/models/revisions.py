"""Revisions of orders that were sent: what is to change, and what a supplier was told.

An order's own lines say what was last sent. A revision stands beside them until it is
sent; then its figures become the order's.
"""

from django.conf import settings
from django.db import models

from planning.models.orders import Order
from stock.models.fields import PriceField


class Revision(models.Model):
    """One numbered change of an order that was sent."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        APPROVED = "approved", "Approved"
        SENT = "sent", "Sent"
        CANCELLED = "cancelled", "Discarded"

    OPEN_STATES = (State.DRAFT, State.APPROVED)

    order = models.ForeignKey(Order, models.CASCADE, related_name="revisions")
    number = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=14, choices=State.choices, default=State.DRAFT)
    deliver_on = models.DateField()
    order_by = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
    was_deliver_on = models.DateField(help_text="The day that was sent before.")
    replaces = models.PositiveSmallIntegerField(
        default=0, help_text="The number of what was sent before; 0: the order itself."
    )
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        ordering = ["order_id", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["order", "number"], name="revision_number_once"
            ),
            models.UniqueConstraint(
                fields=["order"],
                condition=models.Q(state__in=["draft", "approved"]),
                name="one_open_revision_an_order",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order_id}, revision {self.number}"


class RevisionLine(models.Model):
    """So many packs of one kind instead of those sent before; 0 is none."""

    revision = models.ForeignKey(Revision, models.CASCADE, related_name="lines")
    pack = models.ForeignKey("stock.Pack", models.PROTECT, related_name="+")
    packs = models.PositiveIntegerField()
    was_packs = models.PositiveIntegerField()
    price = PriceField("price of one pack", default=0)

    class Meta:
        ordering = ["revision_id", "pack__item__name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "pack"], name="pack_once_a_revision"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} instead of {self.was_packs} x {self.pack_id}"
