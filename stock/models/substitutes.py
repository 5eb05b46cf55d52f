"""Substitutes: what can stand in for an item when it runs out."""

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext as _

from stock.models.fields import CompiledAmountField
from stock.models.versions import Versioned


class Substitute(Versioned):
    """So much of one item in the place of so much of another; never the other way."""

    item = models.ForeignKey(
        "stock.Item",
        models.PROTECT,
        related_name="substitutes",
        help_text="What it takes the place of.",
    )
    substitute = models.ForeignKey(
        "stock.Item",
        models.PROTECT,
        related_name="stands_in_for",
        help_text="What can be used in its place.",
    )
    # All four are blank where nobody has said yet how much takes the place of how much.
    quantity = models.CharField(max_length=200, blank=True, default="")
    quantity_base = CompiledAmountField(null=True, blank=True)
    for_quantity = models.CharField(max_length=200, blank=True, default="")
    for_quantity_base = CompiledAmountField(null=True, blank=True)
    source = models.CharField(
        max_length=200, blank=True, default="", help_text="Where the ratio is from."
    )
    note = models.CharField(
        max_length=200,
        blank=True,
        default="",
        help_text="What changes, and what to do: a crumb a little closer.",
    )

    class Meta:
        ordering = ["item_id", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "substitute"],
                name="substitute_once",
                violation_error_message="It can stand in for this item already.",
            ),
            models.CheckConstraint(
                condition=~Q(item=F("substitute")),
                name="substitute_is_another_item",
                violation_error_message="Nothing stands in for itself.",
            ),
            models.CheckConstraint(
                condition=Q(quantity_base__gt=0, for_quantity_base__gt=0),
                name="substitute_amounts_above_zero",
                violation_error_message="Both amounts must be more than nothing.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.substitute} for {self.item}"

    @property
    def ratio(self) -> str:
        """So much of it for so much of the item, as typed; blank where not known."""
        return (
            _("{quantity} for {for_quantity}").format(
                quantity=self.quantity, for_quantity=self.for_quantity
            )
            if self.quantity
            else ""
        )
