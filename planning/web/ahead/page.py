"""An item's days ahead: when does it get low, and what takes it?"""

from dataclasses import dataclass
from datetime import date

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from planning.engine.demand.pegging import used_base
from planning.engine.kitchen import NodeKind
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.web.ahead.item_days import day_table
from planning.web.ahead.made_sums import made_rows
from planning.web.ahead.takers import Taker, TakerFinder
from planning.web.page_words import PageWords, SaidAmount
from planning.web.shelf.shelf_days import ShelfLines
from planning.web.shortfalls.lack_chains import lack_chain
from planning.web.shortfalls.plan_choice import PlanChoice
from planning.web.shortfalls.shortfall_rows import shortfall_rows
from planning.web.showing import Context, show
from planning.web.today.arrivals import arrivals, places_of
from planning.web.today.use_first import lot_rows
from stock.calendar.calendars import CalendarTextError, parse_date
from stock.models import Balance, Item
from stock.web.request.bakery_time import current_bakery


@dataclass(frozen=True, slots=True)
class UseDay:
    """What is taken of an item on one day, and by what."""

    on: date
    day: str
    used: SaidAmount
    takers: list[Taker]
    is_shared: bool  # one whole gives several parts: added up, they are too many


def ahead(request: HttpRequest, item_id: int) -> HttpResponse:
    """Show the days ahead of one item, bought or made."""
    item = get_object_or_404(Item.objects.select_related("whole"), pk=item_id)
    choice = PlanChoice.from_address(request.GET, current_bakery(request))
    return show(
        request,
        "planning/ahead.html",
        lambda: _ahead(choice, item),
        item=item,
        choice=choice,
        lots=lot_rows(Balance.objects.filter(item=item), timezone.localdate()),
    )


def reasons(request: HttpRequest, item_id: int, on: str) -> HttpResponse:
    """Show what takes an item on one day, step by step up to the cakes."""
    item = get_object_or_404(Item, pk=item_id)
    try:
        day = parse_date(on)
    except CalendarTextError as error:
        raise Http404(str(error)) from error
    choice = PlanChoice.from_address(request.GET, current_bakery(request))
    return show(
        request,
        "planning/reasons.html",
        lambda: _reasons(choice, item, day),
        item=item,
        day=day,
        choice=choice,
    )


def _ahead(choice: PlanChoice, item: Item) -> Context:
    words = PageWords(choice.plan(as_of=timezone.now()), timezone.localdate())
    planned, lines = words.planned, ShelfLines(words.planned)
    node = planned.node_by_id[item.pk]
    short = [row for row in planned.plan.shortfalls if row.node == node]
    return {
        "to_words": words.day(planned.plan.window.to_on),
        "shortfall": next(iter(shortfall_rows(words, short)), None),
        "chain": lack_chain(words, short[0]) if short else None,
        "line": lines.line(node) if lines.has(node) else None,
        "table": (
            day_table(words, node, lines, query=choice.query)
            if lines.has(node)
            else None
        ),
        "use_days": _use_days(words, node),
        "made": made_rows(words, node),
        "arrivals": arrivals(words, places_of(words, node)),
        "is_bought": planned.kitchen.nodes.kind[node] == NodeKind.BOUGHT,
    }


def _use_days(words: PageWords, node: int) -> list[UseDay]:
    """Return every day of the plan on which something takes a node. One query."""
    explosion = words.planned.explosion
    traces = {
        day: trace
        for day in words.planned.plan.projection.days
        if (trace := explosion.reasons(node, day))
    }
    finder = TakerFinder(words, list(traces.values()))
    return [
        _use_day(words, node, day, finder.nearest(node, trace))
        for day, trace in traces.items()
    ]


def _use_day(words: PageWords, node: int, day: date, takers: list[Taker]) -> UseDay:
    taken_base = used_base(words.planned.explosion, node, day)
    alone_base = sum(taker.takes_base for taker in takers)
    return UseDay(
        on=day,
        day=words.day(day),
        used=words.gap(node, taken_base),
        takers=takers,
        is_shared=alone_base - taken_base >= LEAST_LACK_BASE,
    )


def _reasons(choice: PlanChoice, item: Item, day: date) -> Context:
    words = PageWords(choice.plan(as_of=timezone.now()), timezone.localdate())
    node = words.planned.node_by_id[item.pk]
    trace = words.planned.explosion.reasons(node, day)
    finder = TakerFinder(words, [trace])
    return {
        "use": _use_day(words, node, day, finder.nearest(node, trace)),
        "steps": finder.steps(trace),
    }
