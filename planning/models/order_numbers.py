"""Which order numbers were given out, so that none is ever another order's."""

from django.db import models


class LastNumber(models.Model):
    """The highest order number given out in a year, be its order still there or not."""

    year = models.PositiveSmallIntegerField(unique=True)
    reference = models.CharField(max_length=60)

    class Meta:
        ordering = ["year"]

    def __str__(self) -> str:
        return self.reference
