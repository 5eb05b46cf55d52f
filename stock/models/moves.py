"""Moves: what went from one place to another, its lots as they were."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from stock.models.fields import AmountField


class Move(models.Model):
    """An amount of an item that went from one place to another.

    Its movements are in the ledger, two for each lot: out of one place, into the
    other. Undone, it keeps its row; counter-movements bring back what it moved.
    """

    key = models.CharField(
        max_length=80,
        unique=True,
        help_text="Given by whoever may send it twice; the second time is nothing.",
    )
    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="moves")
    from_place = models.ForeignKey("stock.Place", models.PROTECT, related_name="+")
    to_place = models.ForeignKey("stock.Place", models.PROTECT, related_name="+")
    lot = models.ForeignKey(
        "stock.Lot",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="The only lot it is of; none: the earliest use-by first.",
    )
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
        indexes = [models.Index(fields=["-at", "-id"], name="move_by_moment")]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount_base__gt=0),
                name="move_above_zero",
                violation_error_message="Moved is more than nothing.",
            ),
            models.CheckConstraint(
                condition=~Q(from_place=F("to_place")),
                name="move_between_two_places",
                violation_error_message="It lies there now. Choose another place.",
            ),
        ]

    def __str__(self) -> str:
        return f"Moved from {self.from_place_id} to {self.to_place_id}"
