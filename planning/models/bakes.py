"""Bakes: what was made in one go, what that took, and what of it was undone."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from planning.models.bakeplan import PlannedCake
from planning.models.recipes import Recipe
from stock.models.fields import AmountField

BATCH_PLACES = 9  # a millionth of a gram in a hundred kilos is lost at most


class Bake(models.Model):
    """Batches of one recipe that were made, or a planned cake that was baked.

    Its lines say what that moved. Undone, it keeps its rows; counter-movements put
    back what it took.
    """

    recipe = models.ForeignKey(Recipe, models.PROTECT, related_name="bakes")
    planned_cake = models.ForeignKey(
        PlannedCake, models.PROTECT, null=True, blank=True, related_name="bakes"
    )
    was_status = models.CharField(
        max_length=10,
        choices=PlannedCake.Status.choices,
        blank=True,
        default="",
        help_text="Of a planned cake: what it was before, for an undo.",
    )
    key = models.CharField(
        max_length=80,
        unique=True,
        help_text="Given by whoever may send it twice; the second time is nothing.",
    )
    batches = models.DecimalField(
        max_digits=18, decimal_places=BATCH_PLACES, help_text="Of cakes: how many."
    )
    made_on = models.DateField(help_text="The day on which it was made.")
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
        ordering = ["-pk"]
        indexes = [models.Index(fields=["made_on", "recipe"], name="bake_by_day")]
        constraints = [
            models.CheckConstraint(
                condition=Q(batches__gt=0),
                name="bake_above_zero",
                violation_error_message="Made is more than nothing.",
            ),
            models.UniqueConstraint(
                fields=["planned_cake"],
                condition=Q(undone_at__isnull=True),
                name="planned_cake_baked_once",
                violation_error_message="This cake is baked already.",
            ),
        ]

    def __str__(self) -> str:
        return f"Bake {self.pk}"

    @property
    def lot_code(self) -> str:
        """The lot of what it made: M12."""
        return f"M{self.pk}"


class BakeLine(models.Model):
    """What a bake put into one lot in one place, or took from it."""

    bake = models.ForeignKey(Bake, models.CASCADE, related_name="lines")
    place = models.ForeignKey("stock.Place", models.PROTECT, related_name="+")
    lot = models.ForeignKey("stock.Lot", models.PROTECT, related_name="+")
    amount_base = AmountField(help_text="Above zero: it was made. Below: it was used.")
    stands_for = models.ForeignKey(
        "stock.Item",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Of a substitute: what the recipe says instead.",
    )

    class Meta:
        ordering = ["bake_id", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(amount_base=0), name="bake_line_moves_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_base} of lot {self.lot_id}"
