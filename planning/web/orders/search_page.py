"""Better orders: can the same be bought for less?"""

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST
from django_htmx.http import HttpResponseClientRefresh

from planning.errors import PlanningError
from planning.models import OrderSearch
from planning.orders.drafting import draft_found_orders
from planning.plan.planner import Planned, make_plan
from planning.search.searching import (
    as_chosen,
    found_without_wishes,
    go_by_usual_rule,
    is_alive,
    last_search,
    stop_search,
    with_found,
)
from planning.web.orders.order_suggestions import Suggestions, suggestions
from planning.web.orders.order_words import drafted_words
from planning.web.orders.search_form import SearchForm
from planning.web.orders.search_words import (
    compared_table,
    ended_words,
    found_words,
    progress_of,
    running_words,
    stale_words,
    wish_cost_words,
)
from planning.web.showing import Context, show
from stock.errors import StockError
from stock.web.request.bakery_time import current_bakery

PAGE = "planning/order_search.html"


def order_search(request: HttpRequest) -> HttpResponse:
    """Show the last search: how far it is, or what it found."""
    bakery, now = current_bakery(request), timezone.now()
    search = last_search()
    if search is not None and is_alive(search, now):
        progress = progress_of(search, bakery.currency, now)
        return render(request, PAGE, {"progress": progress})
    if getattr(request, "htmx", False):
        return HttpResponseClientRefresh()  # the work is over: show the whole page

    def built() -> Context:
        planned = make_plan(bakery=bakery, as_of=now)
        return _context(planned, search, SearchForm(planned, now=now, last=search), now)

    return show(request, PAGE, built)


@require_POST
def start(request: HttpRequest) -> HttpResponse:
    """Start a search; a wrong form is shown again with its sentences."""
    now = timezone.now()
    try:
        planned = make_plan(bakery=current_bakery(request), as_of=now)
    except (PlanningError, StockError) as error:
        messages.error(request, str(error))
        return redirect("planning:order_search")
    form = SearchForm(planned, request.POST, now=now)
    if form.is_to_start and form.start(at=now, by_id=request.user.pk):
        return redirect("planning:order_search")
    return render(request, PAGE, _context(planned, last_search(), form, now))


@require_POST
def stop(request: HttpRequest, search_id: int) -> HttpResponse:
    """Ask a search to stop; what it has found by then is kept."""
    if not stop_search(search_id):
        messages.info(request, _("That search was over already."))
    return redirect("planning:order_search")


@require_POST
def draft(request: HttpRequest, search_id: int) -> HttpResponse:
    """Draft what a search found."""
    try:
        drafted = draft_found_orders(
            search_id=search_id,
            bakery=current_bakery(request),
            by_id=request.user.pk,
        )
    except (PlanningError, StockError) as error:
        messages.error(request, _still_running(search_id, timezone.now()) or str(error))
        return redirect("planning:order_search")
    messages.success(request, drafted_words(drafted))
    return redirect("planning:orders")


def _still_running(search_id: int, now: datetime) -> str:
    """Return that a search has not ended yet; blank if it has, or is no more."""
    search = last_search()
    is_it = search is not None and search.pk == search_id and is_alive(search, now)
    return running_words(search, now) if search and is_it else ""


@require_POST
def leave(request: HttpRequest) -> HttpResponse:
    """Go by the usual rule's orders again; drafts stay until they are drafted anew."""
    go_by_usual_rule()
    messages.success(request, _("The plan suggests the usual rule's orders again."))
    return redirect("planning:orders")


def _context(
    planned: Planned, search: OrderSearch | None, form: SearchForm, now: datetime
) -> Context:
    better = with_found(planned, search) if search else None
    if search is None or better is None:
        problem = search and (ended_words(search, now) or stale_words(search, now))
        suggested = suggestions(as_chosen(planned), now=now, form=form)
        return {**_with_form(form, suggested), "ended": problem}
    return {
        **_with_form(form, suggestions(better, now=now, form=form)),
        "found": search,
        "found_words": found_words(better, search, now),
        **_compared(better, search, form),
    }


def _with_form(form: SearchForm, suggested: Suggestions) -> Context:
    return {
        "form": form,
        "suggested": suggested,
        "other_trucks": form.other_trucks(suggested.all_trucks),
    }


def _compared(better: Planned, search: OrderSearch, form: SearchForm) -> Context:
    """Return what was found in figures, and what the wishes that it keeps to cost."""
    if not search.wishes:
        return {"compared": compared_table(better, search)}
    free = found_without_wishes(better)
    return {
        "compared": compared_table(better, search, free),
        "wishes": form.words.all(search.kept_wishes, better.plan.purchasing),
        "wish_cost": wish_cost_words(better, search, free),
    }
