"""The arguments of every command that makes a plan, read in one place."""

from argparse import ArgumentParser
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, tzinfo
from math import inf
from typing import Any

from django.core.management.base import OutputWrapper
from django.db.models import Min
from django.utils import timezone
from django.utils.translation import gettext as _

from planning.engine.ordering.column_generation.efforts import Effort, Progress
from planning.engine.plan_warnings import StockUnknownBefore
from planning.errors import PlanningError
from planning.management.search_progress import SearchProgress
from planning.plan.horizon import LONGEST_PLAN_DAYS
from planning.plan.planner import EFFORTS, Planned, make_plan, with_better_orders
from planning.search.searching import as_chosen
from stock.entry.calendar_cells import Day
from stock.models import Bakery, Movement

INCLUDE, LEAVE_OUT = "include", "leave-out"
LONGEST_NUMBER = 20  # letters; a number of days is shorter
NO_EFFORT = "none"  # the usual rule's orders, even where found ones are gone by


class PlanArgumentError(PlanningError):
    """A moment or a number of days that no plan can be made for."""


def add_plan_arguments(parser: ArgumentParser) -> None:
    """Add --from, --days, --at, --tentative and --effort."""
    parser.add_argument(
        "--from", dest="from_on", metavar="DATE", help=_("first day, like 2026-05-04")
    )
    parser.add_argument(
        "--days",
        metavar="N",
        help=_(
            "how many days to plan; default: the kitchen's own, and on to the next "
            "par day"
        ),
    )
    parser.add_argument(
        "--at",
        metavar="MOMENT",
        help=_("plan as seen at this moment, like 2026-05-04T15:10; default: now"),
    )
    parser.add_argument(
        "--tentative",
        choices=[INCLUDE, LEAVE_OUT],
        default=INCLUDE,
        help=_("whether tentative cakes are planned for"),
    )
    seconds = ", ".join(
        _("{name} up to {seconds:g} s").format(name=name, seconds=effort.seconds)
        for name, effort in EFFORTS.items()
    )
    parser.add_argument(
        "--effort",
        choices=[NO_EFFORT, *EFFORTS],
        help=_(
            "how long to look for best orders: {seconds}; or {no_effort}, the "
            "usual rule; default: as the Orders page has them, the usual "
            "rule's unless best orders were drafted there"
        ).format(seconds=seconds, no_effort=NO_EFFORT),
    )


def plan_from_arguments(options: Mapping[str, Any], err: OutputWrapper) -> Planned:
    """Return the plan that the arguments ask for, or say which one is wrong.

    A search for better orders says on `err` how far it is.
    """
    bakery = Bakery.current()
    as_of = read_moment(options["at"], bakery.zone)
    planned = make_plan(
        bakery=bakery,
        as_of=as_of,
        from_on=Day().parse(options["from_on"]) if options["from_on"] else None,
        days=_days(options["days"]),
        tentative=options["tentative"] == INCLUDE,
    )
    first_at = Movement.objects.aggregate(first_at=Min("at"))["first_at"]
    if first_at is not None and as_of < first_at:
        warnings = (
            *planned.plan.warnings,
            StockUnknownBefore(first_at.astimezone(bakery.zone)),
        )
        planned = replace(planned, plan=replace(planned.plan, warnings=warnings))
    if options["effort"] is None:
        return as_chosen(planned)
    if options["effort"] == NO_EFFORT:
        return planned
    return _looked_for(planned, EFFORTS[options["effort"]], err)


def _looked_for(planned: Planned, effort: Effort, err: OutputWrapper) -> Planned:
    usual_cost = float(planned.plan.purchasing.total_cost)
    with SearchProgress(err, planned.bakery.currency) as progress:
        progress.tell(Progress(_("usual rule"), usual_cost, inf))
        return with_better_orders(
            planned,
            effort=effort,
            on_progress=progress.tell,
            should_stop=progress.should_stop,
        )


def read_moment(text: str | None, zone: tzinfo) -> datetime:
    """Return the moment that --at names, local if it has no offset; without it now."""
    if text is None:
        return timezone.now()
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise PlanArgumentError(
            _("--at {text!r} isn't a moment. Write it like 2026-05-04T15:10.").format(
                text=text
            )
        ) from error
    Day().parse(moment.date())  # near the end of time no day can be added to it
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def _days(text: str | None) -> int | None:
    if text is None:
        return None
    is_short = text.strip().isdecimal() and len(text) <= LONGEST_NUMBER
    days = int(text) if is_short else 0
    if not 1 <= days <= LONGEST_PLAN_DAYS:
        raise PlanArgumentError(
            _(
                "--days must be a whole number from 1 to {longest_plan_days}, not "
                "{text}."
            ).format(longest_plan_days=LONGEST_PLAN_DAYS, text=text)
        )
    return days
