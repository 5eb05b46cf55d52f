"""Orders: what to buy, from whom, and why?"""

from datetime import datetime

from django.contrib import messages
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from planning.errors import PlanningError
from planning.models import Order, OrderSearch
from planning.orders.drafting import draft_what_is_needed
from planning.orders.order_book import BookedOrder, booked_orders
from planning.plan.planner import Planned, make_plan
from planning.search.searching import as_chosen, is_alive, last_search, with_found
from planning.web.orders.order_suggestions import Suggestions, suggestions
from planning.web.orders.order_tables import OrdersTable
from planning.web.orders.order_words import drafted_words
from planning.web.orders.search_form import SearchForm
from planning.web.orders.search_words import found_in_short, stale_words
from planning.web.orders.wish_words import WishWords
from planning.web.showing import Context, show
from stock.errors import StockError
from stock.models import Bakery
from stock.templatetags.words import moment_words
from stock.web.request.bakery_time import current_bakery

MOST_PAST_ORDERS = 100
PAST_COLUMNS_LEFT_OUT = ("order_by",)


def orders(request: HttpRequest) -> HttpResponse:
    """Show what the plan would order, and what has become of the orders so far."""
    bakery, now = current_bakery(request), timezone.now()
    stored = _stored(bakery, now)

    def planned() -> Context:
        usual, search = make_plan(bakery=bakery, as_of=now), last_search()
        is_looking = search is not None and is_alive(search, now)
        form = None if is_looking else SearchForm(usual, now=now, last=search)
        suggested = suggestions(as_chosen(usual), now=now, form=form)
        if stored["drafts"]:
            stored["drafts"].outdated = frozenset(suggested.drafts_at_risk)
        dropped = _dropped_words(suggested, search, now)
        is_said = dropped and search and search.drafted_at is not None
        return {
            "suggested": suggested,
            "dropped": dropped,
            "form": form,
            "search_words": search
            and not is_said
            and found_in_short(usual, search, now),
            "kept_wishes": _kept_wishes(usual, search, now),
        }

    return show(request, "planning/orders.html", planned, **stored)


def _dropped_words(
    suggested: Suggestions, search: OrderSearch | None, now: datetime
) -> str:
    """Return why drafted better orders are gone by no more; blank if they are.

    One query more where others were looked for since.
    """
    if search is None or suggested.is_found:
        return ""
    if search.drafted_at is None:
        search = OrderSearch.objects.exclude(drafted_at=None).first()
    return stale_words(search, now) if search else ""


def _kept_wishes(
    usual: Planned, search: OrderSearch | None, now: datetime
) -> list[str]:
    """Return the wishes that the suggested orders keep to, in words."""
    if search is None or search.drafted_at is None or not search.wishes:
        return []
    better = with_found(usual, search)
    if better is None:
        return []
    return WishWords(usual, now).all(search.kept_wishes, better.plan.purchasing)


@require_POST
def draft(request: HttpRequest) -> HttpResponse:
    """Draft what the plan suggests now."""
    try:
        drafted = draft_what_is_needed(
            bakery=current_bakery(request), by_id=request.user.pk
        )
    except (PlanningError, StockError) as error:
        messages.error(request, str(error))
    else:
        messages.success(request, drafted_words(drafted))
    return redirect("planning:orders")


def past_orders(request: HttpRequest) -> HttpResponse:
    """Show what was received, closed or cancelled, the latest first."""
    rows = Order.objects.filter(state__in=Order.PAST_STATES)
    latest = rows.order_by("-deliver_on", "-pk")
    wants_all = request.GET.get("all") == "yes"
    shown = latest if wants_all else latest[:MOST_PAST_ORDERS]
    table = _table(
        booked_orders(shown, bakery=current_bakery(request)),
        _("Orders that came, were closed or cancelled, the latest first"),
        timezone.now(),
        exclude=PAST_COLUMNS_LEFT_OUT,
    )
    has_more = not wants_all and rows.count() > MOST_PAST_ORDERS
    return render(
        request, "planning/orders_past.html", {"table": table, "has_more": has_more}
    )


def _stored(bakery: Bakery, now: datetime) -> Context:
    """Return the orders under way, by what they wait for. Four queries.

    What is to be ordered comes by its cut-off, what is on order by its day.
    """
    under_way = Order.objects.exclude(state__in=Order.PAST_STATES)
    by_cut_off = under_way.order_by(
        F("order_by").asc(nulls_last=True), "deliver_on", "reference"
    )
    booked = booked_orders(by_cut_off, bakery=bakery)
    today = timezone.localdate(now)
    drafts, approved, open_orders = (
        [row for row in booked if row.order.state in states]
        for states in (
            (Order.State.DRAFT,),
            (Order.State.APPROVED,),
            Order.OPEN_STATES,
        )
    )
    open_orders.sort(key=lambda row: row.order.deliver_on)
    return {
        "drafts": drafts and _table(drafts, _("Drafts; none is on order yet"), now),
        "approved": approved and _table(approved, _("Approved, not sent yet"), now),
        "open_orders": open_orders
        and _table(open_orders, _("On order"), now, exclude=("order_by",)),
        "first_draft": drafts[0].order if drafts else None,
        "overdue_count": sum(row.is_overdue(today) for row in open_orders),
        "waiting_count": len(drafts) + len(approved),
        "has_past": Order.objects.filter(state__in=Order.PAST_STATES).exists(),
    }


def _table(
    rows: list[BookedOrder],
    caption: str,
    now: datetime,
    *,
    exclude: tuple[str, ...] = (),
) -> OrdersTable:
    as_of = moment_words(now, timezone.localdate(now))
    return OrdersTable(
        rows,
        caption=_("{caption}, as of {as_of}.").format(caption=caption, as_of=as_of),
        now=now,
        exclude=exclude,
    )
