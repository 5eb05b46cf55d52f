"""The journal of a day: what moved, grouped by what it belongs to."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import groupby

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from stock.calendar.calendars import CalendarTextError, parse_date
from stock.conversion import converters
from stock.models import Movement
from stock.templatetags.words import day_words
from stock.web.request.row_ids import sent_id
from stock.web.shelves.history import HistoryRow, history_rows, with_document

ONE_DAY = timedelta(days=1)
MOVEMENTS_A_PAGE = 40
LAST_PAGE = 10_000
FIRST_DAY = date(2000, 1, 1)  # nothing was recorded before; far from where days end


@dataclass(frozen=True, slots=True)
class Group:
    """The movements that belong to each other."""

    rows: list[HistoryRow]

    @property
    def first(self) -> HistoryRow:
        """One of them, that speaks for all."""
        return self.rows[0]


def journal(request: HttpRequest) -> HttpResponse:
    """Show what moved on a day, the latest first."""
    today = timezone.localdate()
    day = _day(request.GET.get("day", ""), today)
    page = min(sent_id(request.GET.get("page")) or 1, LAST_PAGE)
    start = (page - 1) * MOVEMENTS_A_PAGE
    movements = list(_of_day(day)[start : start + MOVEMENTS_A_PAGE + 1])
    item_ids = {row.item_id for row in movements}
    known = converters.converters_for(item_ids) if item_ids else {}
    rows = history_rows(movements[:MOVEMENTS_A_PAGE], known, today=today)
    context = {
        "day": day,
        "day_words": day_words(day, today),
        "before": day - ONE_DAY,
        "after": day + ONE_DAY if day < today else None,
        "groups": [Group(list(of_one)) for _, of_one in groupby(rows, _together)],
        "page": page,
        "has_more": len(movements) > MOVEMENTS_A_PAGE,
    }
    return render(request, "stock/journal.html", context)


def _day(text: str, today: date) -> date:
    """Return the day that is asked for; today where it is none."""
    try:
        day = parse_date(text)
    except CalendarTextError:
        return today
    return day if FIRST_DAY <= day <= today else today


def _of_day(day: date) -> QuerySet[Movement]:
    """Return the movements of a day on the bakery's clock, the latest first."""
    zone = timezone.get_current_timezone()
    start = datetime.combine(day, time(), tzinfo=zone)
    end = datetime.combine(day + ONE_DAY, time(), tzinfo=zone)
    return with_document(
        Movement.objects.filter(at__gte=start, at__lt=end).order_by("-at", "-pk")
    )


def _together(row: HistoryRow) -> object:
    return row.together
