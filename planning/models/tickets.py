"""Tickets: what was said of a planned cake's allergens when its ticket was printed."""

from django.conf import settings
from django.db import models

from planning.models.bakeplan import PlannedCake


class CakeTicket(models.Model):
    """What the ticket of a planned cake said it contains; never changed."""

    planned_cake = models.ForeignKey(
        PlannedCake, models.CASCADE, related_name="tickets"
    )
    contains = models.TextField(
        blank=True, default="", help_text="From the labels entered, split by ;"
    )
    printed_at = models.DateTimeField()
    printed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )

    class Meta:
        ordering = ["-printed_at", "-pk"]

    def __str__(self) -> str:
        return f"Ticket of cake {self.planned_cake_id}"
