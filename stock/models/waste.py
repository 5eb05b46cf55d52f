"""Waste: what was thrown away, given away or sent back, and why."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy

from stock.models.fields import AmountField


class Waste(models.Model):
    """An amount of an item that left a place unused, for a reason.

    Its movements are in the ledger, one for each lot that it was taken from. Undone,
    it keeps its row; counter-movements put back what it took.
    """

    class Reason(models.TextChoices):
        SPOILED = "spoiled", gettext_lazy("Spoiled")
        DROPPED = "dropped", gettext_lazy("Dropped")
        TASTING = "tasting", gettext_lazy("Tasting")
        STAFF = "staff", gettext_lazy("Staff")
        RETURNED = "returned", gettext_lazy("Returned")
        EXPIRED = "expired", gettext_lazy("Expired")

    key = models.CharField(
        max_length=80,
        unique=True,
        help_text="Given by whoever may send it twice; the second time is nothing.",
    )
    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="wastes")
    place = models.ForeignKey("stock.Place", models.PROTECT, related_name="wastes")
    lot = models.ForeignKey(
        "stock.Lot",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="wastes",
        help_text="The only lot it is of; none: the earliest use-by first.",
    )
    reason = models.CharField(max_length=10, choices=Reason.choices)
    amount_base = AmountField(help_text="Above zero.")
    at = models.DateTimeField()
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
        ordering = ["-at", "-pk"]
        indexes = [models.Index(fields=["-at", "-id"], name="waste_by_moment")]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount_base__gt=0),
                name="waste_above_zero",
                violation_error_message="Wasted is more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"Wasted, {self.get_reason_display().lower()}"
