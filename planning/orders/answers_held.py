"""Forgetting what a supplier answered to a line: undone, or overtaken."""

from datetime import datetime

from django.utils.translation import gettext as _

from planning.errors import AnswerError
from planning.models import Answer, OrderLine


def forget_answer(line: OrderLine, answer: Answer, at: datetime) -> None:
    """Undo an answer: the line is expected as it was ordered, on its day before.

    A day that was set since stays. Refused where its substitute has come, in part too.
    Three queries at most.
    """
    for substitute in line.substitutes.all():
        if substitute.received_packs or substitute.deliveries.exists():
            sentence = _("Its substitute came already, so this answer stays.")
            raise AnswerError(line.pk, "kind", sentence)
        substitute.delete()
    line.expected_packs = None
    if answer.due_on is not None and line.due_on == answer.due_on:
        line.due_on = answer.was_due_on
    line.save()
    answer.undone_at = at
    answer.save(update_fields=["undone_at"])
