"""A planned cake: what is it, what runs short for it, and what became of it?"""

from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.bakeplan.copying import copy_planned_cake, newest_planned_cake
from planning.bakeplan.freed import NOTHING
from planning.bakeplan.planned_cakes import set_status
from planning.baking.entries import Baker, CakeEntry
from planning.baking.making import bake_cake
from planning.baking.telling import made_sentences
from planning.baking.undoing import standing_in_the_way
from planning.engine.scenarios.what_if import DropCake
from planning.entry.sheets import BAKE_PLAN
from planning.errors import PlanningError
from planning.models import PlannedCake
from planning.plan.horizon import usual_days
from planning.plan.outlook import look_ahead
from planning.plan.planner import make_plan
from planning.search.searching import as_chosen
from planning.web.cakes.cake_words import (
    ahead_query,
    due_time_words,
    size_of,
    understood_or_why,
)
from planning.web.cakes.copy_cakes import seen_cake
from planning.web.cakes.lack_words import ShortItem, lacks_for
from planning.web.cakes.plan_changes import PlanChange, folded
from stock.entry.cells import CellError
from stock.entry.entries import EntryFaultsError
from stock.errors import StockError
from stock.measures.lengths import parse_length_cm
from stock.models import Bakery
from stock.web.amounts import kept_together
from stock.web.forms.entry_conflicts import seen_version
from stock.web.request.bakery_time import current_bakery

A_WEEK = timedelta(days=7)
Status = PlannedCake.Status


def planned_cake(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Show a planned cake, what runs short for it, and what can be done with it."""
    planned = _planned(planned_id)
    bakery = current_bakery(request)
    height_cm = parse_length_cm(bakery.layer_height)
    was = request.GET.get("was", "")
    context = {
        "newest": newest_planned_cake(),
        "planned": planned,
        "due_clock": due_time_words(planned.due_time),
        "size_words": understood_or_why(
            size_of(planned), planned.cake.base_size, height_cm
        )[0],
        "is_live": planned.status in PlannedCake.LIVE_STATUSES,
        "set_back_to": was if was in PlannedCake.LIVE_STATUSES else "confirmed",
        "copy_to": planned.due_on + A_WEEK,
        **_lacks(planned, bakery),
        **_baked(planned),
    }
    return render(request, "planning/planned_cake.html", context)


@require_POST
def set_cake_status(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Confirm a cake, cancel it, set it back, or mark it as baked."""
    planned = _planned(planned_id)
    wanted = request.POST.get("status", "")
    back = reverse("planning:planned_cake", args=[planned_id])
    if wanted not in Status.values:
        messages.error(
            request,
            _("“{wanted}” is nothing that a cake can be.").format(wanted=wanted),
        )
        return redirect(back)
    change = PlanChange(request, [planned.due_on])
    seen = seen_version(request.POST)
    try:
        if wanted == Status.BAKED:
            _bake(request, planned, seen)
        else:
            set_status(planned_id, wanted, seen=seen)
    except (PlanningError, StockError) as error:
        messages.error(request, str(error))
        return redirect(back)
    is_new_need = planned.status == Status.CANCELLED
    change.tell(
        _("{reference} is {wanted} now.").format(
            reference=planned.reference, wanted=wanted
        ),
        is_new_need=is_new_need,
        may_free=wanted == Status.CANCELLED,
    )
    return redirect(f"{back}?was={planned.status}" if wanted == "cancelled" else back)


def _bake(request: HttpRequest, planned: PlannedCake, seen: int | None) -> None:
    """Bake a cake; say what went below nothing, or that the bakery is closed."""
    key = f"cake {planned.pk} as of version {seen}" if seen else f"cake {uuid4()}"
    baker = Baker(current_bakery(request), request.user.pk)
    bake = bake_cake(CakeEntry(planned.pk, key, seen), baker)
    for sentence in made_sentences(bake, baker.bakery)[1:]:
        messages.warning(request, kept_together(sentence))


def cancel_cake(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Show what cancelling a cake would set free, before it is cancelled."""
    planned = _planned(planned_id)
    if planned.status not in PlannedCake.LIVE_STATUSES:
        return redirect("planning:planned_cake", planned_id)
    change = PlanChange(request, [planned.due_on])
    is_ahead = planned.due_on >= change.today
    freed = change.frees(DropCake(planned.reference)) if is_ahead else []
    context = {"planned": planned, "freed": folded(freed), "nothing": NOTHING}
    return render(request, "planning/cancel_cake.html", context)


def mark_baked(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Show what is to be marked as baked, because it then stays so."""
    planned = _planned(planned_id)
    if planned.status not in PlannedCake.LIVE_STATUSES:
        return redirect("planning:planned_cake", planned_id)
    return render(request, "planning/mark_baked.html", {"planned": planned})


@require_POST
def copy_cake(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Plan the same cake for another day."""
    planned = _planned(planned_id)
    try:
        due_on = BAKE_PLAN.column("due").read(request.POST.get("due"))
        change = PlanChange(request, [due_on])
        seen_id = seen_cake(request.POST.get("newest", ""))
        copied_id = copy_planned_cake(planned_id, due_on=due_on, seen_id=seen_id)
    except (CellError, EntryFaultsError) as error:
        messages.error(
            request,
            _("{reference} was not copied: {error}").format(
                reference=planned.reference, error=error
            ),
        )
        return redirect("planning:planned_cake", planned_id)
    change.tell(_("This is a copy of {reference}.").format(reference=planned.reference))
    return redirect("planning:planned_cake", copied_id)


def _baked(planned: PlannedCake) -> dict[str, Any]:
    """Return how baking a cake is undone, or what stands in the way."""
    bake = planned.bakes.filter(undone_at=None).first()
    if bake is None:
        return {}
    return {
        "undo_url": reverse("planning:undo_bake", args=[bake.pk]),
        "in_the_way": "; ".join(standing_in_the_way(bake)),
    }


def _planned(planned_id: int) -> PlannedCake:
    return get_object_or_404(
        PlannedCake.objects.select_related("cake__item"), pk=planned_id
    )


def _lacks(planned: PlannedCake, bakery: Bakery) -> dict[str, list[ShortItem] | str]:
    """Return what runs short for a cake that is still to be made."""
    now = timezone.now()
    is_ahead = planned.due_on >= timezone.localdate(now)
    if planned.status not in PlannedCake.LIVE_STATUSES or not is_ahead:
        return {"lacks": []}
    try:
        return _lacks_ahead(planned, bakery, now)
    except PlanningError as error:
        return {"lacks": [], "trouble": str(error)}


def _lacks_ahead(
    planned: PlannedCake, bakery: Bakery, now: datetime
) -> dict[str, list[ShortItem] | str]:
    """Return what the plan that other pages show says of a cake.

    For a later day it is a lighter look, so far ahead, without orders.
    """
    today = timezone.localdate(now)
    if planned.due_on < today + timedelta(days=usual_days(bakery, today)):
        plan = as_chosen(make_plan(bakery=bakery, as_of=now))
        found = lacks_for(planned.reference, plan, plan.plan.shortfalls, today)
        return {"lacks": found, "ahead_query": ""}
    outlook = look_ahead(bakery=bakery, as_of=now, until=planned.due_on)
    return {
        "lacks": lacks_for(planned.reference, outlook, outlook.shortfalls, today),
        "ahead_query": ahead_query(outlook.window, bakery),
    }
