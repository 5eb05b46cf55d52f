"""Rows that people edit in forms, so that nobody writes over another unseen."""

from django.db import models


class Versioned(models.Model):
    """A row that counts its changes; see `stock.saving.versions`."""

    version = models.PositiveIntegerField(
        default=1, help_text="One more at every change: nobody writes over another."
    )

    class Meta:
        abstract = True
