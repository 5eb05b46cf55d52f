"""What a supplier answers to an order, line by line, and what of it was undone."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from planning.models.orders import OrderLine


class Answer(models.Model):
    """What a supplier said of one line; the last that is not undone holds.

    The line itself keeps how many packs are expected by it, and on which day.
    """

    class Kind(models.TextChoices):
        CONFIRMED = "confirmed", _("Confirmed")
        SHORT = "short", _("Short")
        SUBSTITUTED = "substituted", _("Substituted")
        REFUSED = "refused", _("Refused")
        LATER = "later", _("Later")

    line = models.ForeignKey(OrderLine, models.CASCADE, related_name="answers")
    kind = models.CharField(max_length=12, choices=Kind.choices)
    packs = models.PositiveIntegerField(
        null=True, blank=True, help_text="Confirmed of a short line; of a substitute."
    )
    pack = models.ForeignKey(
        "stock.Pack", models.PROTECT, null=True, blank=True, related_name="+"
    )
    due_on = models.DateField(null=True, blank=True)
    was_due_on = models.DateField(help_text="The line's day before this answer.")
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="+",
    )
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["line_id", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["line"],
                condition=models.Q(undone_at=None),
                name="one_answer_a_line",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.line_id} {self.kind}"
