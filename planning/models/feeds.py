"""The address at which a person's own calendar reads what is coming."""

from django.conf import settings
from django.db import models

from stock.models.versions import Versioned


class CalendarFeed(Versioned):
    """A person's secret address; whoever knows it reads, and nothing more."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.CASCADE, related_name="calendar_feed"
    )
    secret = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"calendar address of {self.person_id}"
