"""What if: what would a change of the plan do, before anybody makes it?"""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST

from planning.errors import PlanningError
from planning.scenarios.accepting import accept_changes, can_accept
from planning.scenarios.what_if import Understood
from planning.scenarios.what_if_names import WhatIfError
from planning.web.scenarios.what_if_forms import ChangeForm, change_forms
from planning.web.scenarios.what_if_rows import in_force_words, shown
from planning.web.scenarios.what_if_trial import Trial, mark_of
from planning.web.showing import Context, show
from stock.entry.entries import Fault
from stock.errors import StockError
from stock.web.forms.entry_forms import posted


def what_if(request: HttpRequest) -> HttpResponse:
    """Show both plans side by side, and the forms of further changes; take one."""
    trial, forms = Trial(request), change_forms(posted(request), request.GET)
    sent = next((each for each in forms if each.form.is_bound), None)
    if sent is not None and _take(trial, sent):
        return redirect("planning:what_if")
    return show(request, "planning/what_if.html", lambda: _compared(trial), forms=forms)


def review(request: HttpRequest) -> HttpResponse:
    """Show what would be made true, before it is."""
    return show(
        request, "planning/what_if_review.html", lambda: _to_accept(Trial(request))
    )


@require_POST
def accept(request: HttpRequest) -> HttpResponse:
    """Make the changes true that are made from here; the others go on waiting."""
    trial = Trial(request)
    try:
        if request.POST.get("shown") not in (None, mark_of(*trial.waiting)):
            raise WhatIfError("", _("Other changes wait now. Look at them again."))
        if trial.problems:
            raise WhatIfError("", trial.problems[0])
        if not any(map(can_accept, trial.understood)):
            raise WhatIfError("", _("No change waits to be accepted."))
        count = accept_changes(trial.understood)
    except (PlanningError, StockError) as error:
        messages.error(request, _("Nothing was changed. {error}").format(error=error))
        return redirect("planning:what_if")
    pairs = zip(trial.waiting, trial.understood, strict=True)
    trial.wait([change for change, each in pairs if not can_accept(each)])
    said = ngettext("1 change is", "{count} changes are", count).format(count=count)
    messages.success(
        request,
        _("{said} made. What stands as it is here has them in it.").format(said=said),
    )
    return redirect("planning:what_if")


@require_POST
def take_back(request: HttpRequest) -> HttpResponse:
    """Take one change back, or throw all of them away; sent twice it is taken once."""
    trial, which = Trial(request), request.POST.get("which", "")
    kept = [change for change in trial.waiting if which not in ("all", mark_of(change))]
    trial.wait(kept)
    return redirect("planning:what_if")


def _take(trial: Trial, sent: ChangeForm) -> bool:
    """Let a change wait; False where it is faulty, which stands beside its field."""
    entry = {name: str(value) for name, value in sent.form.entry().items()}
    try:
        trial.take(sent.kind, entry)
    except WhatIfError as error:
        if error.column:
            sent.form.take_fault(Fault(1, error.column, str(error)))
        else:
            sent.form.add_error(None, str(error))
    except (PlanningError, StockError) as error:
        sent.form.add_error(None, str(error))
    else:
        return True
    return False


def _compared(trial: Trial) -> Context:
    changes = [
        (mark_of(change), each.words if isinstance(each, Understood) else str(each))
        for change, each in zip(trial.waiting, trial.found, strict=True)
    ]
    context: Context = {"changes": changes, "has_changes": bool(changes)}
    if not changes:
        return context
    try:
        context["shown"] = shown(trial.compared(), trial.today)
        context["in_force"] = in_force_words(trial.real, trial.in_force(), trial.today)
    except (PlanningError, StockError) as error:
        context["what_if_problem"] = str(error)
    return context


def _to_accept(trial: Trial) -> Context:
    return {
        "mark": mark_of(*trial.waiting),
        "accepted": [each.words for each in trial.understood if can_accept(each)],
        "left": [each.words for each in trial.understood if not can_accept(each)],
        "problems": trial.problems,
    }
