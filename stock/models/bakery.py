"""The bakery itself: its name, its clock and calendar, its money."""

from decimal import Decimal
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models
from django.utils.translation import gettext, gettext_lazy

from stock.calendar import calendars
from stock.models.versions import Versioned


class Bakery(Versioned):
    """The one row of settings that everything else is reckoned by."""

    # One row, so one key: a second row cannot even be added by mistake.
    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(max_length=120, default="Our bakery")
    time_zone = models.CharField(
        max_length=64,
        blank=True,
        default="",  # nobody has said yet
        help_text="As the time zone database writes it, like America/Chicago.",
    )
    currency = models.CharField(
        max_length=3, default="USD", help_text="Three letters, like USD."
    )
    week_starts = models.CharField(
        max_length=3,
        default="Mon",
        choices=[(day, day) for day in calendars.WEEKDAYS],
    )
    par_days = models.CharField(
        max_length=40,
        blank=True,
        default="",
        help_text="Weekdays at whose close par stands. Blank: the week's last day.",
    )
    closed_days = models.CharField(
        max_length=40,
        blank=True,
        default="",
        help_text="Weekdays on which nobody bakes and nothing is delivered: Mon.",
    )
    closed_on = models.TextField(
        blank=True,
        default="",
        help_text="Single closed dates, split by ; like 2026-12-25; 2027-01-01.",
    )
    horizon_days = models.PositiveSmallIntegerField(
        gettext_lazy("days a plan looks ahead"), default=14
    )
    layer_height = models.CharField(
        max_length=20, default="1.5 in", help_text="One baked layer: 1.5 in or 4 cm."
    )
    leftover_worth = models.DecimalField(
        gettext_lazy("worth of leftovers"),
        max_digits=4,
        decimal_places=3,
        default=Decimal("0.9"),
        help_text="From 0 to 1: the share of its price that a usable leftover keeps.",
    )

    address = models.TextField(
        blank=True, default="", help_text="Where deliveries go, as on an envelope."
    )
    phone = models.CharField(max_length=40, blank=True, default="")
    delivery_note = models.TextField(
        blank=True, default="", help_text="For drivers: back door, before 7 am."
    )

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(pk=1), name="bakery_is_one_row"),
            models.CheckConstraint(
                condition=models.Q(leftover_worth__gte=0, leftover_worth__lte=1),
                name="leftover_worth_is_a_share",
                violation_error_message="A leftover is worth between 0 and 1.",
            ),
            models.CheckConstraint(
                condition=models.Q(horizon_days__gte=1, horizon_days__lte=366),
                name="horizon_within_a_year",
                violation_error_message="A plan looks 1 to 366 days ahead.",
            ),
        ]

    @classmethod
    def current(cls) -> "Bakery":
        """Return the settings, or their defaults before they are first saved."""
        return cls.objects.first() or cls(name=gettext("Our bakery"))

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        """The bakery's time zone; until somebody says which, this machine's."""
        return ZoneInfo(self.time_zone or settings.MACHINE_TIME_ZONE)

    @property
    def par_weekdays(self) -> tuple[int, ...]:
        """The weekdays at whose close par stands; Monday is 0."""
        return calendars.parse_weekdays(self.par_days) or (
            calendars.last_weekday(self.week_starts),
        )
