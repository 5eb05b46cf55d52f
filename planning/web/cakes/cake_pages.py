"""Adding and changing a planned cake: what is it, and when is it due?"""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from planning.bakeplan.planned_cakes import keep_planned_cakes, planned_cake_entries
from planning.models import PlannedCake, Recipe
from planning.web.cakes.cake_form import CakeForm, cake_form
from planning.web.cakes.cake_words import understood_or_why
from planning.web.cakes.plan_changes import NOT_SAVED_YET, PlanChange, folded
from stock.measures.lengths import parse_length_cm
from stock.templatetags.words import day_words
from stock.web.forms.entry_forms import keep_from_form
from stock.web.request.bakery_time import current_bakery


def add_cake(request: HttpRequest) -> HttpResponse:
    """Plan a cake."""
    values = {
        "due": request.GET.get("due", ""),
        "cake": request.GET.get("cake", ""),
        "quantity": "1",
    }
    form = cake_form(request, bakery=current_bakery(request), values=values)
    if asks_to_save(request):
        change = PlanChange(request, [form.due_on()])
        if kept := keep_from_form(form, keep_planned_cakes, ids=[None]):
            planned = PlannedCake.objects.get(reference=kept.added[0])
            _tell(change, planned)
            return redirect("planning:planned_cake", planned.pk)
    return _page(form, request, _("Add a cake"), reverse("planning:bake_plan"))


def change_cake(request: HttpRequest, planned_id: int) -> HttpResponse:
    """Change a planned cake that is still to be made."""
    planned = get_object_or_404(PlannedCake, pk=planned_id)
    back = reverse("planning:planned_cake", args=[planned_id])
    if request.method != "POST" and planned.status not in PlannedCake.LIVE_STATUSES:
        return redirect(back)
    [values] = planned_cake_entries([planned_id])
    form = cake_form(
        request,
        bakery=current_bakery(request),
        values=values,
        version=planned.version,
    )
    freed: list[str] = []
    if asks_to_save(request):
        change = PlanChange(request, [form.due_on(), planned.due_on])
        freed = _not_yet_seen(request, form, change, planned)
        seen = [form.seen(planned_id)]
        if not freed and keep_from_form(form, keep_planned_cakes, ids=seen):
            _tell(change, PlannedCake.objects.get(pk=planned_id), may_free=True)
            return redirect(back)
    return _page(
        form,
        request,
        _("Edit {reference}").format(reference=planned.reference),
        back,
        freed,
    )


def size_echo(request: HttpRequest) -> HttpResponse:
    """Say how a size is understood, while it is typed."""
    cake = Recipe.objects.filter(item__name=request.GET.get("cake", "")).first()
    words, is_understood = understood_or_why(
        request.GET.get("size", ""),
        cake.base_size if cake else "",
        parse_length_cm(current_bakery(request).layer_height),
    )
    context = {"echo": words, "is_understood": is_understood}
    return render(request, "planning/size_echo.html", context)


def asks_to_save(request: HttpRequest) -> bool:
    """Whether a form is sent to be stored, not only to be read back."""
    return request.method == "POST" and "look" not in request.POST


def _not_yet_seen(
    request: HttpRequest, form: CakeForm, change: PlanChange, planned: PlannedCake
) -> list[str]:
    """Return what the change would set free, unless that was on the page already.

    An old copy of the form is told first what somebody else saved meanwhile.
    """
    is_ahead = planned.due_on >= change.today
    if form.seen(planned.pk).version != planned.version:
        return []
    if "freed_seen" in request.POST or not is_ahead or change.before is None:
        return []
    edit = form.edit_of(planned.reference, change.before.kitchen.nodes)
    freed = change.frees(edit) if edit is not None else []
    if freed:
        messages.warning(request, NOT_SAVED_YET)
    return freed


def _tell(change: PlanChange, planned: PlannedCake, *, may_free: bool = False) -> None:
    day = day_words(planned.due_on, change.today)
    words = _("{reference} is on the plan for {day}.").format(
        reference=planned.reference, day=day
    )
    change.tell(words, may_free=may_free)


def _page(
    form: CakeForm,
    request: HttpRequest,
    heading: str,
    back: str,
    freed: Sequence[str] = (),
) -> HttpResponse:
    # What is wrong with the size stands beside it already.
    echo, is_understood = ("", True) if form.errors.get("size") else form.echo()
    context = {
        "form": form,
        "heading": heading,
        "back": back,
        "echo": echo,
        "is_understood": is_understood,
        "has_cakes": bool(form.base_sizes),
        "freed": folded(freed),
    }
    return render(request, "planning/cake_form.html", context)
