"""Tares: what is on the scale and not on the shelf."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Coalesce, Lower

from stock.models.fields import AmountField
from stock.models.versions import Versioned


class Tare(Versioned):
    """An empty bin, tub or tray: what the scale shows before anything is in it."""

    name = models.CharField(max_length=40, help_text="The word at the scale: bin.")
    weight = models.CharField(max_length=200, help_text="A quantity: 2.15 lb.")
    weight_g = AmountField()
    place = models.ForeignKey(
        "stock.Place", models.CASCADE, null=True, blank=True, related_name="tares"
    )
    item = models.ForeignKey(
        "stock.Item", models.CASCADE, null=True, blank=True, related_name="tares"
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                Coalesce("place", 0),
                Coalesce("item", 0),
                name="tare_name_once",
                violation_error_message="There is a tare of this name here already.",
            ),
            models.CheckConstraint(
                condition=Q(weight_g__gt=0),
                name="tare_weighs_something",
                violation_error_message="A tare must weigh more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.weight}"
