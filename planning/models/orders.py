"""Orders to suppliers: one truck each, from draft to received."""

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy

from stock.models.fields import MoneyField, PriceField
from stock.models.versions import Versioned


class Order(Versioned):
    """What one supplier is asked to bring on one day."""

    class State(models.TextChoices):
        DRAFT = "draft", gettext_lazy("Draft")
        APPROVED = "approved", gettext_lazy("Approved")
        SENT = "sent", gettext_lazy("Sent")
        PART_RECEIVED = "part received", gettext_lazy("Part received")
        RECEIVED = "received", gettext_lazy("Received")
        CLOSED = "closed", gettext_lazy("Closed")
        CANCELLED = "cancelled", gettext_lazy("Cancelled")

    OPEN_STATES = (State.SENT, State.PART_RECEIVED)
    UNSENT_STATES = (State.DRAFT, State.APPROVED)
    PAST_STATES = (State.RECEIVED, State.CLOSED, State.CANCELLED)

    reference = models.CharField(max_length=60)
    supplier = models.ForeignKey(
        "stock.Supplier", models.PROTECT, related_name="orders"
    )
    deliver_on = models.DateField()
    order_by = models.DateTimeField(null=True, blank=True)
    state = models.CharField(max_length=14, choices=State.choices, default=State.DRAFT)
    revision = models.PositiveSmallIntegerField(
        default=0, help_text="Of what was last sent; 0: as it was sent first."
    )
    note = models.CharField(
        max_length=300, blank=True, help_text="For the supplier, on what is sent."
    )
    fee = MoneyField(
        gettext_lazy("delivery fee"),
        null=True,
        blank=True,
        help_text="As it was when the order was sent; until then the supplier's own.",
    )
    reasons_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text="As of when its lines say why; null: before that was kept.",
    )
    changed_by_hand = models.BooleanField(
        default=False, help_text="A plan never replaces what a person changed."
    )
    changed_at = models.DateTimeField(null=True, blank=True)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who last changed its lines.",
    )

    class Meta:
        ordering = ["deliver_on", "supplier__name", "reference"]
        constraints = [
            models.UniqueConstraint(
                Lower("reference"),
                name="order_reference_once",
                violation_error_message="There is an order of this number already.",
            ),
        ]

    def __str__(self) -> str:
        return self.reference


class OrderStep(models.Model):
    """Who brought an order into which state, and when."""

    class How(models.TextChoices):
        MAIL = "mail", gettext_lazy("E-mail")
        MESSAGE = "message", gettext_lazy("Message")
        PHONE = "phone", gettext_lazy("Phone")

    order = models.ForeignKey(Order, models.CASCADE, related_name="steps")
    state = models.CharField(max_length=14, choices=Order.State.choices)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    revision = models.PositiveSmallIntegerField(
        db_default=0, help_text="Of which revision; 0: of the order itself."
    )
    how = models.CharField(
        max_length=7,
        choices=How.choices,
        blank=True,
        db_default="",
        help_text="How it went to the supplier; blank: nobody said.",
    )
    taken_by = models.CharField(
        max_length=120,
        blank=True,
        db_default="",
        help_text="Who took it on the phone.",
    )
    imported = models.BooleanField(
        db_default=False, help_text="A workbook said so: nobody did it here."
    )

    class Meta:
        ordering = ["order_id", "pk"]

    def __str__(self) -> str:
        return f"{self.order_id} {self.state}"


# Of lines: something of it is still due.
STILL_TO_COME = models.Q(packs__gt=models.F("received_packs"), closed=False)


class OrderLine(models.Model):
    """So many packs of one kind, at the price expected when they were ordered."""

    order = models.ForeignKey(Order, models.CASCADE, related_name="lines")
    pack = models.ForeignKey("stock.Pack", models.PROTECT, related_name="order_lines")
    packs = models.PositiveIntegerField()
    received_packs = models.PositiveIntegerField(default=0)
    closed = models.BooleanField(
        default=False, help_text="What has not come of it will not come any more."
    )
    expected_packs = models.PositiveIntegerField(
        null=True,
        blank=True,
        help_text="Of all ordered, as the supplier answered; null: it did not yet.",
    )
    stands_for = models.ForeignKey(
        "self",
        models.CASCADE,
        null=True,
        blank=True,
        related_name="substitutes",
        help_text="The ordered line in whose place the supplier brings this.",
    )
    price = PriceField(gettext_lazy("price of one pack"), default=0)
    due_on = models.DateField()
    because = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["order_id", "pack__item__name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["order", "pack"], name="pack_once_an_order"
            ),
            models.CheckConstraint(
                condition=models.Q(packs__gte=1),
                name="order_line_from_one_pack",
                violation_error_message="Order at least one pack, or no line at all.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.packs} x {self.pack_id}"

    @property
    def packs_to_come(self) -> int:
        """Packs that are still due; `STILL_TO_COME` asks the same of the database."""
        return 0 if self.closed else max(self.packs - self.received_packs, 0)

    @property
    def packs_expected(self) -> int:
        """Packs still due as far as the supplier's answer goes: what a plan counts."""
        ordered = self.packs if self.expected_packs is None else self.expected_packs
        return 0 if self.closed else max(ordered - self.received_packs, 0)
