"""Searches for better orders: long work that a page looks at from outside."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy

from planning.engine.ordering.instance.wishes import KeptWishes
from stock.models.fields import MoneyField


class OrderSearch(models.Model):
    """One search for better orders than the usual rule's, and what came of it."""

    class Effort(models.TextChoices):
        QUICK = "quick", gettext_lazy("A few seconds")
        USUAL = "usual", gettext_lazy("Up to a minute")
        THOROUGH = "thorough", gettext_lazy("Up to four minutes")

    class State(models.TextChoices):
        RUNNING = "running", gettext_lazy("Running")
        DONE = "done", gettext_lazy("Done")
        STOPPED = "stopped", gettext_lazy("Stopped")
        FAILED = "failed", gettext_lazy("Failed")

    FOUND_STATES = (State.DONE, State.STOPPED)

    effort = models.CharField(max_length=10, choices=Effort.choices)
    state = models.CharField(
        max_length=10, choices=State.choices, default=State.RUNNING
    )
    started_at = models.DateTimeField(help_text="The moment that it plans at.")
    started_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    wishes = models.JSONField(
        default=dict, blank=True, help_text="What the buyer decided; {} for nothing."
    )
    heartbeat_at = models.DateTimeField(help_text="When it last gave a sign of life.")
    stop_asked = models.BooleanField(default=False)
    stage = models.CharField(max_length=40, blank=True)
    paid = MoneyField(gettext_lazy("best so far"), null=True, blank=True)
    gap = models.FloatField(null=True, blank=True)
    problem = models.TextField(blank=True, help_text="Why it failed.")
    fingerprint = models.CharField(
        max_length=64, blank=True, help_text="Of the kitchen that it was made for."
    )
    outcome = models.JSONField(null=True, blank=True)
    drafted_at = models.DateTimeField(
        null=True, blank=True, help_text="Since when its orders are the ones to go by."
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["state"],
                condition=models.Q(state="running"),
                name="one_search_at_a_time",
                violation_error_message="A search is running already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.effort} {self.started_at:%Y-%m-%d %H:%M}"

    @property
    def kept_wishes(self) -> KeptWishes:
        """What the buyer decided before it was started."""
        return KeptWishes.from_json(self.wishes)
