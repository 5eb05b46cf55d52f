"""Can we take it?: one more cake for a day: yes, yes if ordered, or no, and why."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from planning.bakeplan.planned_cakes import keep_planned_cakes
from planning.entry.sheets import BAKE_PLAN
from planning.errors import (
    DueInThePastError,
    DueTooFarAheadError,
    NoCakesAskedError,
    NoSuchCakeError,
    PlanningError,
    SizeError,
    TakesRetiredError,
)
from planning.models import PlannedCake
from planning.plan.planner import make_plan
from planning.scenarios.promise import AskedCake
from planning.scenarios.promise import can_take as read_can_take
from planning.scenarios.taking import take_cake
from planning.search.searching import as_chosen
from planning.web.cakes.cake_form import CakeForm
from planning.web.cakes.plan_changes import PlanChange
from planning.web.scenarios.can_take_answer import TakeAnswer, take_answer
from stock.errors import StockError
from stock.measures.lengths import parse_length_cm
from stock.models import Bakery
from stock.saving.upsert import Kept
from stock.templatetags.words import day_words
from stock.web.forms.entry_forms import EntryForm, keep_from_form, posted
from stock.web.request.bakery_time import current_bakery

ASKED = ("cake", "due", "quantity", "size")
FIELD_OF_ERROR: dict[type[PlanningError], str] = {
    SizeError: "size",
    NoSuchCakeError: "cake",
    TakesRetiredError: "cake",
    DueInThePastError: "due",
    DueTooFarAheadError: "due",
    NoCakesAskedError: "quantity",
}


def can_take(request: HttpRequest) -> HttpResponse:
    """Show the question and, once it is asked, the answer; add the cake to the plan."""
    bakery = current_bakery(request)
    adding = EntryForm(BAKE_PLAN, posted(request), columns=("reference",))
    if adding.is_bound and (planned := _add(request, adding)):
        return redirect("planning:planned_cake", planned.pk)
    sent = request.POST if request.method == "POST" else request.GET
    form = _question(bakery, sent)
    context = {
        "form": form,
        "adding": adding,
        "asked": {name: sent.get(name, "") for name in ASKED},
        "answer": _answer(bakery, form) if form.is_bound else None,
        "has_cakes": bool(form.base_sizes),
    }
    return render(request, "planning/can_take.html", context)


def _question(bakery: Bakery, sent: QueryDict) -> CakeForm:
    """Return the question as it was asked; before it is, of one cake."""
    is_asked = "cake" in sent and "due" in sent
    form = CakeForm(
        sent if is_asked else None,
        values={"quantity": "1", "cake": sent.get("cake", "")},
        layer_height_cm=parse_length_cm(bakery.layer_height),
        columns=ASKED,
    )
    form.fixed["reference"] = "-"  # it has none yet, and every other line has one
    return form


def _answer(bakery: Bakery, form: CakeForm) -> TakeAnswer | None:
    """Return the answer; None where what is wrong stands beside its field."""
    asked = _asked(form)
    if asked is None:
        return None
    try:
        planned = as_chosen(make_plan(bakery=bakery, as_of=timezone.now()))
        answered = read_can_take(planned, asked)
    except (PlanningError, StockError) as error:
        form.add_error(_field_of(error), str(error))
        return None
    return take_answer(answered, timezone.localdate())


def _asked(form: CakeForm) -> AskedCake | None:
    values = form.read()
    if values is None:
        return None
    return AskedCake(
        values["cake"], values["size"], values["due"], float(values["quantity"])
    )


def _field_of(error: Exception) -> str | None:
    return next(
        (name for kind, name in FIELD_OF_ERROR.items() if isinstance(error, kind)), None
    )


def _add(request: HttpRequest, adding: EntryForm) -> PlannedCake | None:
    """Put the cake on the bake plan; None where the job refused it, or it is over."""
    status = request.POST.get("status", "")
    known = [live.value for live in PlannedCake.LIVE_STATUSES]
    adding.fixed.update({name: request.POST.get(name, "") for name in ASKED})
    adding.fixed["status"] = status if status in known else PlannedCake.Status.TENTATIVE
    due_on = BAKE_PLAN.read({"due": adding.fixed["due"]}, needs_key=False).values.get(
        "due"
    )
    if due_on and due_on < timezone.localdate():
        return None  # the answer to the same question says so beside the day
    change = PlanChange(request, [due_on])
    try:
        kept = keep_from_form(adding, _keeping(request), ids=[None])
    except PlanningError as error:
        adding.add_error(None, str(error))
        return None
    if kept is None:
        return None
    planned = PlannedCake.objects.get(reference=kept.added[0])
    day = day_words(planned.due_on, change.today)
    change.tell(
        _("{reference} is on the plan for {day}, {status}.").format(
            reference=planned.reference, day=day, status=planned.status
        )
    )
    return planned


def _keeping(request: HttpRequest) -> Callable[..., Kept]:
    """Return the job that adds the cake; where its page had an answer, that stands."""
    bakery, seen = current_bakery(request), request.POST.get("answer")
    asked = _asked(_question(bakery, request.POST))
    if seen is None or asked is None:
        return keep_planned_cakes
    at = timezone.now()
    return lambda entries, **_: take_cake(
        entries[0], asked, bakery=bakery, at=at, seen=seen
    )
