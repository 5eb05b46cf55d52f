"""Where things stand: the shelves, in the order in which they are walked."""

from django.db import models
from django.db.models.functions import Lower

from stock.models.versions import Versioned


class Place(Versioned):
    """One shelf, bin, fridge or cupboard that is counted by itself."""

    name = models.CharField(max_length=80)
    walk_order = models.PositiveIntegerField(
        default=0, help_text="The count walks from the lowest number to the highest."
    )

    class Meta:
        ordering = ["walk_order", "name"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="place_name_once",
                violation_error_message="There is a place of this name already.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
