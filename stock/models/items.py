"""Items: everything that has a name on a shelf or in a recipe.

Ingredients, packaging, the parts of a whole (a white, a zest) and what the bakery
makes share one table, because they share one set of names and one ledger.
"""

from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy

from stock.measures.reading.sayings import System
from stock.measures.units import Measure
from stock.models.fields import CompiledAmountField
from stock.models.versions import Versioned


class Item(Versioned):
    """Something that is counted, used or made, in one measure of its own."""

    class Kind(models.TextChoices):
        INGREDIENT = "ingredient", gettext_lazy("Ingredient")
        PACKAGING = "packaging", gettext_lazy("Packaging")
        PART = "part", gettext_lazy("Part of a whole")
        MADE = "made", gettext_lazy("Made here")
        CAKE = "cake", gettext_lazy("Cake")

    BOUGHT_KINDS = (Kind.INGREDIENT, Kind.PACKAGING)

    name = models.CharField(max_length=120)
    kind = models.CharField(
        max_length=10, choices=Kind.choices, default=Kind.INGREDIENT
    )
    measure = models.CharField(
        max_length=6,
        choices=[(measure.value, measure.value.title()) for measure in Measure],
        help_text="How it is kept: by weight, by volume or by count.",
    )
    equivalents = models.TextField(
        blank=True,
        default="",
        help_text="What its other measures come to: 1 cup = 125 g; 1 tbsp = 8 g.",
    )
    speaks = models.CharField(
        max_length=9,
        blank=True,
        default="",
        choices=[(system.value, system.value) for system in System],
        help_text="Of what is made here: the units that its recipe's yield is in.",
    )
    weights_from = models.CharField(
        max_length=10,
        blank=True,
        default="",
        help_text="NDB number of the food whose published weights were taken over.",
    )
    own_units = models.TextField(
        blank=True,
        default="",
        help_text="Words of its own: stick = 4 oz; tub = 5 lb.",
    )
    safety = models.CharField(
        max_length=200,
        blank=True,
        default="",
        help_text="What must stay on the shelf on every day of the plan.",
    )
    safety_base = CompiledAmountField(default=0)
    par = models.CharField(
        max_length=200,
        blank=True,
        default="",
        help_text="What should stand on the shelf at the close of every par day.",
    )
    par_base = CompiledAmountField(default=0)
    keeps_days = models.PositiveIntegerField(
        null=True, blank=True, help_text="Days it can be used, the first included."
    )
    place = models.ForeignKey(
        "stock.Place",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="items",
        help_text="Where it usually stands.",
    )
    walk_order = models.PositiveIntegerField(default=0)
    counted_in = models.CharField(
        max_length=40,
        blank=True,
        default="",
        help_text="What a bare number in a count means; blank: as it was counted last.",
    )
    allergens = models.CharField(
        max_length=200,
        blank=True,
        default="",
        help_text="From its label, split by ; like milk; wheat.",
    )
    minimum_days_left = models.PositiveIntegerField(
        null=True, blank=True, help_text="Days of life it must have on delivery."
    )
    cold = models.BooleanField(gettext_lazy("kept cold"), default=False)
    opened_keeps_days = models.PositiveIntegerField(
        null=True, blank=True, help_text="Days it can be used once opened."
    )
    frozen_keeps_days = models.PositiveIntegerField(
        null=True, blank=True, help_text="Days it can be used from the freezer."
    )
    thawed_keeps_days = models.PositiveIntegerField(
        null=True, blank=True, help_text="Days it can be used once thawed."
    )
    retired = models.BooleanField(
        default=False, help_text="Hidden from lists; its history stays."
    )
    whole = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="parts",
        help_text="What a part is taken from.",
    )
    part_yields = models.CharField(
        max_length=200, blank=True, default="", help_text="From 1 each of the whole."
    )
    part_yields_base = CompiledAmountField(null=True, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="item_name_once",
                violation_error_message=(
                    "An item, a part or a recipe has this name already."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(safety_base__gte=0, par_base__gte=0),
                name="item_levels_not_negative",
                violation_error_message="Safety and par cannot be negative.",
            ),
            models.CheckConstraint(
                condition=(
                    models.Q(
                        kind="part",
                        whole__isnull=False,
                        # Said apart: a check that compares with NULL passes.
                        part_yields_base__isnull=False,
                        part_yields_base__gt=0,
                    )
                    | ~models.Q(kind="part")
                    & models.Q(whole__isnull=True, part_yields_base__isnull=True)
                ),
                name="part_has_its_whole",
                violation_error_message=(
                    "A part needs its whole and what one of it yields."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def base_unit(self) -> str:
        """g, mL or each."""
        return Measure(self.measure).base_unit
