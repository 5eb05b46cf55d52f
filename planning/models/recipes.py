"""Recipes and their lines: what a batch takes, and when it has to be made."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy

from stock.models.fields import CompiledAmountField
from stock.models.versions import Versioned


class Recipe(Versioned):
    """How one thing is made. Its name and its measure are its item's."""

    class Holding(models.TextChoices):
        COLD = "cold", gettext_lazy("Kept cold")
        NONE = "", gettext_lazy("Not said")

    item = models.OneToOneField(
        "stock.Item", models.PROTECT, related_name="recipe", primary_key=True
    )
    yields = models.CharField(max_length=200, help_text="One batch: 2.4 kg, 1 each.")
    yield_base = CompiledAmountField()
    batch_step = models.DecimalField(
        max_digits=6,
        decimal_places=3,
        default=Decimal(0),
        validators=[MinValueValidator(0)],
        help_text="0: any amount. 0.5: half batches. 1: whole batches.",
    )
    largest_batch = models.DecimalField(
        max_digits=9,
        decimal_places=3,
        null=True,
        blank=True,
        help_text="What one mix can be, in batches.",
    )
    loss_percent = models.DecimalField(
        max_digits=6,
        decimal_places=3,
        default=Decimal(0),
        validators=[MinValueValidator(0), MaxValueValidator(Decimal("99.999"))],
        help_text="Left in the bowl and on trimmings.",
    )
    lead_days = models.PositiveIntegerField(
        default=0, help_text="Calendar days before it is needed that it is made."
    )
    is_cake = models.BooleanField(default=False)
    base_size = models.CharField(
        max_length=200, blank=True, default="", help_text="8 in round x 3"
    )
    holding = models.CharField(
        max_length=10, choices=Holding.choices, blank=True, default=""
    )

    caps_use_by = models.BooleanField(
        "caps its use-by",
        default=False,
        help_text="Unbaked: it keeps no longer than what went into it.",
    )

    class Meta:
        ordering = ["item__name"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(yield_base__gt=0),
                name="recipe_yields_something",
                violation_error_message="A batch must yield more than nothing.",
            ),
            models.CheckConstraint(
                condition=models.Q(loss_percent__gte=0, loss_percent__lt=100),
                name="recipe_loss_below_all",
                violation_error_message="The loss must be 0 or more and under 100 %.",
            ),
            models.CheckConstraint(
                condition=models.Q(batch_step__gte=0), name="batch_step_not_negative"
            ),
            models.CheckConstraint(
                condition=models.Q(largest_batch__isnull=True)
                | models.Q(largest_batch__gt=0),
                name="largest_batch_above_zero",
                violation_error_message="The largest batch must be above 0.",
            ),
        ]

    def __str__(self) -> str:
        return self.item.name


class RecipeLine(Versioned):
    """What one batch takes of one component; in a cake, what it scales with."""

    class ScalesWith(models.TextChoices):
        CAKE = "", gettext_lazy("the cake (fixed)")
        VOLUME = "volume", gettext_lazy("the layers' volume")
        FILLING = "filling", gettext_lazy("the fillings' area")
        SURFACE = "surface", gettext_lazy("the outer surface")
        TIER = "tier", gettext_lazy("the number of tiers")

    recipe = models.ForeignKey(Recipe, models.CASCADE, related_name="lines")
    component = models.ForeignKey("stock.Item", models.PROTECT, related_name="used_in")
    quantity = models.CharField(max_length=200)
    quantity_base = CompiledAmountField()
    yield_percent = models.DecimalField(
        max_digits=7, decimal_places=4, default=Decimal(100)
    )
    scales_with = models.CharField(
        max_length=10, choices=ScalesWith.choices, blank=True, default=""
    )
    position = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["recipe_id", "position", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["recipe", "component"],
                name="component_once_a_recipe",
                violation_error_message="The recipe has a line for this already.",
            ),
            models.CheckConstraint(
                condition=models.Q(yield_percent__gt=0, yield_percent__lte=100),
                name="line_yield_is_a_percentage",
                violation_error_message="The yield must be above 0 and at most 100 %.",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity_base__gte=0),
                name="line_quantity_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.component_id}"
