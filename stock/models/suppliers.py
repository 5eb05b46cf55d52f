"""Suppliers and the packs they sell: who comes when, with what, for how much."""

from datetime import date
from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy

from stock.models.fields import CompiledAmountField, MoneyField, PriceField
from stock.models.versions import Versioned


class Supplier(Versioned):
    """Whom things are bought from, with the days and the terms of the truck."""

    class Kind(models.TextChoices):
        DELIVERS = "delivers", gettext_lazy("Delivers")
        SHOP = "shop", gettext_lazy("A shop: somebody goes there")

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind.choices, default=Kind.DELIVERS)
    contact = models.CharField(
        max_length=120, blank=True, default="", help_text="Whom to ask for there."
    )
    account = models.CharField(
        max_length=60, blank=True, default="", help_text="The bakery's number there."
    )
    email = models.EmailField(blank=True, default="")
    phone = models.CharField(max_length=40, blank=True, default="")
    delivery_days = models.CharField(max_length=40, help_text="Weekdays: Tue Fri.")
    cutoff_days = models.CharField(
        max_length=100,
        help_text="Calendar days before the delivery: 2. Or by its weekday: "
        "Mon 4; Thu 2.",
    )
    cutoff_time = models.TimeField(help_text="The time on that day: 14:00.")
    usable_next_day = models.BooleanField(
        default=True, help_text="Whether a delivery can be used only from the next day."
    )
    minimum_order = MoneyField(default=0)
    delivery_fee = MoneyField(default=0)
    free_delivery_from = MoneyField(
        null=True, blank=True, help_text="Blank: never free."
    )
    closed_on = models.TextField(
        blank=True, default="", help_text="Dates without a delivery, separated by ;"
    )
    retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                Lower("name"),
                name="supplier_name_once",
                violation_error_message="There is a supplier of this name already.",
            ),
            models.CheckConstraint(
                condition=models.Q(minimum_order__gte=0, delivery_fee__gte=0)
                & (
                    models.Q(free_delivery_from__isnull=True)
                    | models.Q(free_delivery_from__gte=0)
                ),
                name="supplier_terms_not_negative",
                violation_error_message=(
                    "A minimum, a fee and a limit for free delivery cannot be negative."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_shop(self) -> bool:
        """Whether somebody goes there, instead of a truck that comes."""
        return self.kind == self.Kind.SHOP


class Pack(Versioned):
    """One way to buy an item: a case, a sack or a tray from one supplier."""

    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="packs")
    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="packs")
    label = models.CharField(
        "pack", max_length=120, help_text="As the supplier writes it: case 36 x 1 lb."
    )
    called = models.CharField(
        max_length=40,
        blank=True,
        default="",
        help_text="The word used when counting: case.",
    )
    code = models.CharField(
        gettext_lazy("supplier's code"), max_length=60, blank=True, default=""
    )
    holds = models.CharField(max_length=200, help_text="A quantity: 36 lb.")
    size_base = CompiledAmountField()
    price = PriceField(gettext_lazy("price of one pack"))
    minimum_packs = models.PositiveIntegerField(
        default=1, validators=[MinValueValidator(1)]
    )
    multiple = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    price_breaks = models.CharField(
        max_length=200,
        blank=True,
        default="",
        help_text="From how many packs all of them cost what: 10: 92.50; 20: 90.",
    )
    preferred = models.BooleanField(default=False)
    gtin = models.CharField(
        gettext_lazy("bar code"), max_length=14, blank=True, default=""
    )
    next_price = PriceField(
        gettext_lazy("next price of one pack"), null=True, blank=True
    )
    next_price_from = models.DateField(
        null=True, blank=True, help_text="Deliveries from this day on cost it."
    )
    retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["item_id", "supplier_id", "size_base"]
        constraints = [
            models.UniqueConstraint(
                "supplier",
                "item",
                Lower("label"),
                name="pack_label_once",
                violation_error_message=(
                    "This supplier has a pack of these words for the item already."
                ),
            ),
            models.CheckConstraint(
                condition=models.Q(size_base__gt=0),
                name="pack_size_above_zero",
                violation_error_message="A pack must hold more than nothing.",
            ),
            models.CheckConstraint(
                condition=models.Q(price__gte=0),
                name="pack_price_not_negative",
                violation_error_message="A price cannot be negative.",
            ),
            models.CheckConstraint(
                condition=models.Q(next_price__isnull=True, next_price_from=None)
                | models.Q(
                    # Said apart: a check that compares with NULL passes.
                    next_price__isnull=False,
                    next_price__gte=0,
                    next_price_from__isnull=False,
                ),
                name="pack_next_price_has_its_day",
                violation_error_message="A next price needs the day it starts on.",
            ),
            models.CheckConstraint(
                condition=models.Q(minimum_packs__gte=1, multiple__gte=1),
                name="pack_minimum_and_multiple_from_one",
                violation_error_message="Minimum and multiple start at 1.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} from {self.supplier}"

    def has_next_price(self, on: date) -> bool:
        """Whether a delivery on this day is charged the next price, without breaks."""
        return self.next_price_from is not None and on >= self.next_price_from

    def price_on(self, on: date) -> Decimal:
        """Return the price of one pack on a day, breaks left aside."""
        if self.next_price is not None and self.has_next_price(on):
            return self.next_price
        return self.price
