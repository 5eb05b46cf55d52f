"""Today: what needs a person now?"""

from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from planning.plan.planner import make_plan
from planning.search.searching import as_chosen
from planning.web.page_words import PageWords
from planning.web.showing import Context, show
from planning.web.today.arrivals import (
    answered_words,
    arrivals,
    coming_days,
    places_until,
)
from planning.web.today.makings import making_days, overdue_cakes
from planning.web.today.orders_due import orders_due
from planning.web.today.short_soon import short_soon, weekend_end
from planning.web.today.use_first import read_count_age
from planning.web.today.use_first_items import items_to_use_first
from stock.models import Bakery
from stock.web.counts.unfinished import oldest_open_words
from stock.web.request.bakery_time import current_bakery

ONE_DAY = timedelta(days=1)


def today(request: HttpRequest) -> HttpResponse:
    """Show what cannot wait, and the work of today and tomorrow."""
    count_age = read_count_age(timezone.localdate())
    if not count_age.has_items:
        return show(request, "planning/today_empty.html", dict)
    return show(
        request,
        "planning/today.html",
        lambda: _planned(current_bakery(request)),
        count_age=count_age,
        open_count_words=oldest_open_words(timezone.localdate()),
        use_first=items_to_use_first(timezone.localdate()),
    )


def _planned(bakery: Bakery) -> Context:
    """Return what the plan says of the days up to the weekend."""
    on = timezone.localdate()
    planned = as_chosen(make_plan(bakery=bakery, as_of=timezone.now()))
    words, until = PageWords(planned, on), weekend_end(on)
    today, tomorrow = making_days(words, (on, on + ONE_DAY))
    coming = arrivals(words, places_until(words, until))
    return {
        "orders": orders_due(words, planned.plan.purchasing.orders),
        "due": [arrival for arrival in coming if arrival.is_due],
        "coming": coming_days(coming),
        "answered": answered_words(),
        "making": today,
        "tomorrow": tomorrow,
        "overdue": overdue_cakes(words),
        "has_cakes": bool(planned.kitchen.cakes.references),
        "short": short_soon(words, until),
        "until_words": words.day(until),
        "warnings": [
            *planned.uncounted,
            *planned.demand_warnings,
            *planned.order_warnings,
        ],
    }
