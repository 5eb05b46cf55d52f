"""Holds: lots that somebody set aside, why, and until when."""

from django.conf import settings
from django.db import models
from django.db.models import Q

LONGEST_REASON = 200  # letters


class Hold(models.Model):
    """A lot of an item that is set aside, wherever it lies, until it is released.

    It stays on the shelf's record; plans, making and waste without a lot's name pass
    it over. A row is never used again: who holds the lot anew writes another.
    """

    lot = models.ForeignKey("stock.Lot", models.PROTECT, related_name="holds")
    reason = models.CharField(max_length=LONGEST_REASON)
    held_at = models.DateTimeField()
    held_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        ordering = ["-held_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["lot"],
                condition=Q(released_at__isnull=True),
                name="lot_on_hold_once",
                violation_error_message="This lot is on hold already.",
            ),
            models.CheckConstraint(
                condition=~Q(reason=""),
                name="hold_has_its_reason",
                violation_error_message="Say why it is on hold.",
            ),
        ]

    def __str__(self) -> str:
        return f"Hold of lot {self.lot_id}"
