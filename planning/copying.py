"""Planning the same cakes again: a whole event, weekend or week on other days."""

from collections.abc import Sequence
from datetime import timedelta

from django.db import transaction

from planning.bakeplan import copy_planned_cake, set_status
from planning.models import PlannedCake


@transaction.atomic
def copy_planned_cakes(ids: Sequence[int], *, days_later: int) -> list[int]:
    """Plan some cakes again so many days later; return the ids of the new lines.

    All of them or none. See `copy_planned_cake` for references and statuses.
    """
    planned = PlannedCake.objects.filter(pk__in=ids)
    return [
        copy_planned_cake(each.pk, due_on=each.due_on + timedelta(days=days_later))
        for each in planned
    ]


@transaction.atomic
def cancel_planned_cakes(ids: Sequence[int]) -> list[str]:
    """Cancel what is still to be made of some cakes; return their references."""
    planned = PlannedCake.objects.filter(
        pk__in=ids, status__in=PlannedCake.LIVE_STATUSES
    )
    references = []
    for each in planned:
        set_status(each.pk, PlannedCake.Status.CANCELLED)
        references.append(each.reference)
    return references
