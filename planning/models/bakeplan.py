"""The bake plan: which cakes are due on which day."""

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy

from stock.models.versions import Versioned

LONGEST_REFERENCE = 60


class PlannedCake(Versioned):
    """One line of the bake plan."""

    class Status(models.TextChoices):
        TENTATIVE = "tentative", gettext_lazy("Tentative")
        CONFIRMED = "confirmed", gettext_lazy("Confirmed")
        BAKED = "baked", gettext_lazy("Baked")
        CANCELLED = "cancelled", gettext_lazy("Cancelled")

    LIVE_STATUSES = (Status.TENTATIVE, Status.CONFIRMED)

    reference = models.CharField(
        max_length=LONGEST_REFERENCE,
        help_text="What it is asked for by: an order's number or a name.",
    )
    due_on = models.DateField()
    due_time = models.TimeField(null=True, blank=True)
    cake = models.ForeignKey(
        "planning.Recipe", models.PROTECT, related_name="planned_cakes"
    )
    size = models.CharField(
        max_length=200,
        blank=True,
        default="",
        help_text="6 in round x 3 + 8 in round x 3. Blank: the recipe's own size.",
    )
    quantity = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    status = models.CharField(
        max_length=10, choices=Status.choices, default=Status.CONFIRMED
    )
    note = models.CharField(max_length=300, blank=True, default="")

    class Meta:
        ordering = ["due_on", models.F("due_time").asc(nulls_first=True), "reference"]
        indexes = [models.Index(fields=["due_on", "status"], name="cake_by_day")]
        constraints = [
            models.UniqueConstraint(
                Lower("reference"),
                name="cake_reference_once",
                violation_error_message="The bake plan has this reference already.",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=1),
                name="cake_quantity_from_one",
                violation_error_message="Plan at least one cake.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference
