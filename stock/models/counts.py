"""Counts: what people saw on the shelves, entry by entry, and what came of it.

A count has one moment. Its entries are never changed and never taken out: whoever
counts a line again adds an entry. What a line comes to is worked out from them.
"""

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy

from stock.models.fields import AmountField, MoneyField
from stock.models.ledger import LARGEST_AMOUNT_BASE

LONGEST_LOT = 120  # letters of a lot code


class Count(models.Model):
    """One walk along the shelves: of some places, as of one moment."""

    class State(models.TextChoices):
        OPEN = "open", gettext_lazy("Open")
        IN_REVIEW = "in review", gettext_lazy("In review")
        POSTED = "posted", gettext_lazy("Posted")
        DISCARDED = "dropped", gettext_lazy("Discarded")

    LIVE_STATES = (State.OPEN, State.IN_REVIEW)

    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    counted_at = models.DateTimeField(
        gettext_lazy("moment of the count"),
        help_text="Deliveries and bakes after it stay on top when it is posted.",
    )
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    closed_at = models.DateTimeField(
        null=True, blank=True, help_text="When it was posted or dropped."
    )
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    undone_at = models.DateTimeField(
        null=True, blank=True, help_text="When its last posting was undone."
    )
    undone_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    late_seen = models.PositiveBigIntegerField(
        default=0, help_text="The newest entry after its posting that somebody saw."
    )
    places = models.ManyToManyField(
        "stock.Place", through="stock.CountPlace", related_name="counts"
    )

    class Meta:
        ordering = ["-counted_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(state__in=["open", "in review"], closed_at__isnull=True)
                | Q(state__in=["posted", "dropped"], closed_at__isnull=False),
                name="count_closed_when_posted_or_dropped",
                violation_error_message="A posted or dropped count has its moment.",
            ),
        ]

    def __str__(self) -> str:
        return f"Count {self.pk}"

    @property
    def is_live(self) -> bool:
        """Whether entries still belong to it: open, or in review."""
        return self.state in self.LIVE_STATES


class CountPlace(models.Model):
    """A place that a count walks; no place is in two live counts."""

    count = models.ForeignKey(Count, models.CASCADE, related_name="count_places")
    place = models.ForeignKey("stock.Place", models.PROTECT, related_name="+")
    is_live = models.BooleanField(default=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["count", "place"], name="place_once_in_a_count"
            ),
            models.UniqueConstraint(
                fields=["place"],
                condition=Q(is_live=True),
                name="place_in_one_live_count",
                violation_error_message="This place is being counted already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place_id} in count {self.count_id}"


class CountEntry(models.Model):
    """What one person said of one line, once; never changed.

    An entry that the count could not take is kept all the same, with the reason; one
    that came after a posting is taken once that is undone. Blank text: not counted.
    """

    class Kept(models.TextChoices):
        TAKEN = "", gettext_lazy("Taken")
        POSTED = "posted", gettext_lazy("Came after the count was posted")
        DISCARDED = "dropped", gettext_lazy("Came after the count was discarded")
        ELSEWHERE = (
            "elsewhere",
            gettext_lazy("For a place that the count does not walk"),
        )
        UNREADABLE = "unreadable", gettext_lazy("Could not be read")
        APART = "apart", gettext_lazy("Sent while somebody else was signed in")

    key = models.UUIDField(
        unique=True, help_text="Given by the device; the second time is nothing."
    )
    count = models.ForeignKey(Count, models.PROTECT, related_name="entries")
    place = models.ForeignKey("stock.Place", models.PROTECT, related_name="+")
    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="+")
    use_by = models.DateField(null=True, blank=True)
    lot_code = models.CharField(max_length=LONGEST_LOT, blank=True, default="")
    text = models.CharField(max_length=200, blank=True, default="")
    typed = models.CharField(
        max_length=200,
        blank=True,
        default="",
        help_text="As it was typed, where the text was completed; blank: as the text.",
    )
    amount_base = AmountField(
        null=True, blank=True, help_text="As it was understood; null: not counted."
    )
    kept = models.CharField(
        max_length=10, choices=Kept.choices, blank=True, default=Kept.TAKEN
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who counted.",
    )
    sent_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who was signed in when it was sent.",
    )
    claimed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
        help_text="Whose the device says it is, where that is not its sender.",
    )
    device = models.CharField(max_length=40, blank=True, default="")
    sequence = models.PositiveBigIntegerField(
        default=0, help_text="The device's own running number; clocks may be wrong."
    )
    supersedes = models.UUIDField(
        null=True, blank=True, help_text="The entry that its writer saw and replaced."
    )
    asked = models.CharField(
        max_length=12,
        blank=True,
        default="",
        help_text="The kind of slip that the counter was asked about.",
    )
    confirmed = models.BooleanField(
        default=False, help_text="The counter was asked, and says that it is so."
    )
    entered_at = models.DateTimeField(help_text="By the device's clock.")
    received_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["count", "item"], name="entry_by_count")]
        constraints = [
            models.CheckConstraint(
                condition=Q(amount_base__isnull=True)
                | Q(amount_base__gte=0, amount_base__lte=LARGEST_AMOUNT_BASE),
                name="entry_within_range",
                violation_error_message="Count nothing, or what a shelf can hold.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.text or 'blank'} of {self.item_id}"

    @property
    def said_at(self) -> datetime:
        """When it was entered, as far as its device's clock may be believed.

        Nothing was entered after it came: a clock that says so runs ahead.
        """
        return min(self.entered_at, self.received_at)

    @property
    def quoted(self) -> str:
        """What its writer typed; the text, in entries that only have that."""
        return self.typed or self.text


class CountDevice(models.Model):
    """One person's phone or tablet in a count, as it last said how it stands.

    What it holds may be more than it could tell: it may have no signal.
    """

    count = models.ForeignKey(Count, models.CASCADE, related_name="devices")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    device = models.CharField(max_length=40)
    number = models.PositiveBigIntegerField(
        default=0, help_text="The device's running number; an older report is late."
    )
    heard_at = models.DateTimeField()
    is_open = models.BooleanField(help_text="Whether a sheet is open on it.")
    waiting = models.PositiveIntegerField(
        default=0, help_text="Entries on it that are not sent yet."
    )

    class Meta:
        ordering = ["-heard_at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["count", "by", "device"], name="device_once_a_person"
            ),
        ]

    def __str__(self) -> str:
        return f"Device of {self.by_id} in count {self.count_id}"


class CountTyped(models.Model):
    """What somebody typed on a line and has not entered yet, as their device says."""

    device = models.ForeignKey(CountDevice, models.CASCADE, related_name="typed")
    place = models.ForeignKey("stock.Place", models.CASCADE, related_name="+")
    item = models.ForeignKey("stock.Item", models.CASCADE, related_name="+")
    use_by = models.DateField(null=True, blank=True)
    lot_code = models.CharField(max_length=LONGEST_LOT, blank=True, default="")
    text = models.CharField(max_length=200)
    heard_at = models.DateTimeField(help_text="When just this was heard first.")

    class Meta:
        ordering = ["place__walk_order", "item__name", "pk"]

    def __str__(self) -> str:
        return f"{self.text} of {self.item_id}, not entered"


class CountDecision(models.Model):
    """What the review says of one line: which entry stands, and a note."""

    class Choice(models.TextChoices):
        NONE = "", gettext_lazy("Not decided")
        ONE = "one", gettext_lazy("One entry stands")
        SUM = "sum", gettext_lazy("The entries are added up")
        READ = "read", gettext_lazy("Another reading of an entry stands")

    count = models.ForeignKey(Count, models.CASCADE, related_name="decisions")
    place = models.ForeignKey("stock.Place", models.PROTECT, related_name="+")
    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="+")
    use_by = models.DateField(null=True, blank=True)
    lot_code = models.CharField(max_length=LONGEST_LOT, blank=True, default="")
    choice = models.CharField(
        max_length=4, choices=Choice.choices, blank=True, default=Choice.NONE
    )
    entry = models.ForeignKey(
        CountEntry, models.CASCADE, null=True, blank=True, related_name="+"
    )
    text = models.CharField(
        max_length=200, blank=True, default="", help_text="The figure, as it was said."
    )
    amount_base = AmountField(
        null=True, blank=True, help_text="What was decided; null: nothing is."
    )
    through_entry = models.PositiveBigIntegerField(
        default=0, help_text="The newest entry seen; a later one asks again."
    )
    through_typed = models.PositiveBigIntegerField(
        default=0, help_text="The newest seen of what is typed and not entered."
    )
    version = models.PositiveIntegerField(
        default=0, help_text="How often it was decided: nobody overwrites unseen."
    )
    note = models.CharField(max_length=200, blank=True, default="")
    note_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["count", "place", "item", "use_by", "lot_code"],
                condition=Q(use_by__isnull=False),
                name="decision_once_a_dated_line",
            ),
            models.UniqueConstraint(
                fields=["count", "place", "item", "lot_code"],
                condition=Q(use_by__isnull=True),
                name="decision_once_an_undated_line",
            ),
            models.CheckConstraint(
                condition=Q(choice__in=["one", "read"], entry__isnull=False)
                | ~Q(choice__in=["one", "read"]) & Q(entry__isnull=True),
                name="decision_names_its_entry",
            ),
            models.CheckConstraint(
                condition=~Q(choice="read") | Q(amount_base__isnull=False),
                name="decision_has_its_reading",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_choice_display()}: {self.item_id}"


class CountResult(models.Model):
    """What was counted of an item in a place, beside the record, when it was posted."""

    count = models.ForeignKey(Count, models.PROTECT, related_name="results")
    place = models.ForeignKey("stock.Place", models.PROTECT, related_name="+")
    item = models.ForeignKey("stock.Item", models.PROTECT, related_name="+")
    counted_base = AmountField()
    expected_base = AmountField(help_text="On record at the moment of the count.")
    variance_cost = MoneyField(
        null=True, blank=True, help_text="What the difference costs; null: no pack."
    )

    class Meta:
        ordering = ["count_id", "place_id", "item_id"]
        constraints = [
            models.UniqueConstraint(
                fields=["count", "place", "item"], name="result_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.counted_base} of {self.item_id}"
