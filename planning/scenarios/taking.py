"""Taking the cake that was asked about, while the answer is the one that was seen."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from planning.bakeplan.planned_cakes import keep_planned_cakes
from planning.errors import PlanningError
from planning.plan.planner import make_plan
from planning.scenarios.promise import AskedCake, can_take
from planning.search.searching import as_chosen
from stock.models import Bakery
from stock.saving.upsert import Kept, wait_for_turn


class AnswerChangedError(PlanningError):
    """What can be taken is not what the page said: a cut-off passed, stock went."""

    def __init__(self) -> None:
        super().__init__(
            _("The answer changed after you asked. Look at it again, then add.")
        )


@transaction.atomic
def take_cake(
    entry: Mapping[str, Any],
    asked: AskedCake,
    *,
    bakery: Bakery,
    at: datetime,
    seen: str,
) -> Kept:
    """Put a new cake on the bake plan, as its entry says.

    Refused where the answer is another by now than its page had (`seen`, which is
    `Answered.mark`). What is wrong with the entry is said first: sent twice, that it is
    on the plan already.
    """
    wait_for_turn()
    planned = as_chosen(make_plan(bakery=bakery, as_of=at))
    answered = can_take(planned, asked)
    kept = keep_planned_cakes([dict(entry)], ids=[None])
    if answered.mark != seen:
        raise AnswerChangedError
    return kept
