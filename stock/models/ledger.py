"""The ledger: lots, movements and the running balance that they add up to.

On hand is the sum of movements. A movement is never changed or taken out: a mistake
is corrected by another. Triggers in the database refuse anything else.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy

from stock.models.fields import AmountField

# A hundred thousand tonnes: more is a slip of typing. Sums of this size are exact as
# 64-bit whole numbers and as floats alike, and no balance can run out of room.
LARGEST_AMOUNT_BASE = 10**11
WITHIN_RANGE = Q(
    amount_base__gte=-LARGEST_AMOUNT_BASE, amount_base__lte=LARGEST_AMOUNT_BASE
)


class Lot(models.Model):
    """What arrived or was made together and goes out of date together."""

    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="lots")
    code = models.CharField(max_length=120, blank=True, default="")
    use_by = models.DateField(null=True, blank=True, help_text="Last day of use.")

    class Meta:
        ordering = ["item_id", models.F("use_by").asc(nulls_last=True), "code"]
        constraints = [
            models.UniqueConstraint(
                fields=["item", "use_by", "code"],
                condition=Q(use_by__isnull=False),
                name="dated_lot_once",
            ),
            models.UniqueConstraint(
                fields=["item", "code"],
                condition=Q(use_by__isnull=True),
                name="undated_lot_once",
            ),
        ]

    def __str__(self) -> str:
        words = [self.code or "no lot"]
        if self.use_by:
            words.append(f"use by {self.use_by}")
        return ", ".join(words)


class Movement(models.Model):
    """An amount that came to a place or left it, at a moment, for a reason."""

    class Kind(models.TextChoices):
        IMPORTED = "imported", gettext_lazy("From a workbook")
        CORRECTED = "corrected", gettext_lazy("Corrected by hand")
        COUNTED = "counted", gettext_lazy("Counted")
        RECEIVED = "received", gettext_lazy("Received")
        MADE = "made", gettext_lazy("Made")
        USED = "used", gettext_lazy("Used")
        WASTED = "wasted", gettext_lazy("Wasted")
        MOVED = "moved", gettext_lazy("Moved")

    # Item and lot are each the first column of an index of their own below.
    item = models.ForeignKey(
        "stock.Item", models.PROTECT, related_name="movements", db_index=False
    )
    place = models.ForeignKey("stock.Place", models.PROTECT, related_name="movements")
    lot = models.ForeignKey(
        Lot, models.PROTECT, related_name="movements", db_index=False
    )
    kind = models.CharField(max_length=10, choices=Kind.choices)
    amount_base = AmountField(help_text="Above zero: it came. Below: it left.")
    at = models.DateTimeField(help_text="When it really moved.")
    recorded_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    note = models.CharField(max_length=200, blank=True, default="")
    key = models.CharField(
        max_length=80,
        null=True,
        blank=True,
        unique=True,
        help_text="Given by whoever may send it twice; the second time is nothing.",
    )
    # Nearly all movements have neither: only the others are in the indexes below.
    waste = models.ForeignKey(
        "stock.Waste",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="movements",
        db_index=False,
    )
    move = models.ForeignKey(
        "stock.Move",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="movements",
        db_index=False,
    )

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(
                fields=["move"],
                condition=Q(move__isnull=False),
                name="movement_of_move",
            ),
            models.Index(
                fields=["waste"],
                condition=Q(waste__isnull=False),
                name="movement_of_waste",
            ),
            models.Index(fields=["item", "-at"], name="movement_by_item"),
            models.Index(fields=["lot", "place", "at"], name="movement_by_lot"),
            models.Index(fields=["at"], name="movement_by_moment"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=~Q(amount_base=0),
                name="movement_moves_something",
                violation_error_message="A movement of nothing is none.",
            ),
            models.CheckConstraint(
                condition=WITHIN_RANGE,
                name="movement_within_range",
                violation_error_message="That is more than any bakery can hold.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.amount_base} of {self.item_id}"


class Balance(models.Model):
    """What is on hand of one lot in one place: the sum of its movements, kept."""

    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="balances")
    # The unique pair of place and lot is its index.
    place = models.ForeignKey(
        "stock.Place", models.PROTECT, related_name="balances", db_index=False
    )
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="balances")
    amount_base = AmountField(default=0)
    found_empty = models.BooleanField(
        db_default=False, help_text="Somebody said, not in a count, that none is there."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["place", "lot"], name="balance_once"),
            models.CheckConstraint(
                condition=WITHIN_RANGE,
                name="balance_within_range",
                violation_error_message="That is more than any bakery can hold.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount_base} of {self.lot_id} in {self.place_id}"


# A count keeps what it found in its results, and nothing else says what is there.
SAID_CHOICES = [
    (kind.value, kind.label)
    for kind in (Movement.Kind.IMPORTED, Movement.Kind.CORRECTED)
]


class Confirmation(models.Model):
    """When somebody last found on a shelf just what was on record there.

    That moves nothing, and says as much as a correction does: what was written before
    it is not undone beneath it. A shelf is an item in a place; a posted count keeps
    what it found in its own results.
    """

    item = models.ForeignKey(
        "stock.Item", models.CASCADE, related_name="+", db_index=False
    )
    place = models.ForeignKey("stock.Place", models.CASCADE, related_name="+")
    kind = models.CharField(
        max_length=10, choices=SAID_CHOICES, help_text="How it was said."
    )
    at = models.DateTimeField(help_text="The moment of which it was said.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    newest_movement = models.PositiveBigIntegerField(
        help_text="The last one written by then: clocks may be wrong, this order not."
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["item", "place"], name="confirmation_once_a_shelf"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item_id} in {self.place_id} as on record"
