"""The bake plan: what will we make? As a week, and as a list of what is coming."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import django_tables2 as tables
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django_tables2 import A

from planning.models import PlannedCake
from planning.sentences.words import capitalized
from planning.web.cakes.bake_week import ONE_DAY, first_day_of_week, week_of
from planning.web.cakes.cake_words import due_time_words, size_of
from planning.web.cakes.copy_cakes import sent_ids
from stock.entry.calendar_cells import Day
from stock.entry.cells import CellError
from stock.templatetags.words import full_day_words, moment_words
from stock.web.amounts import NO_BREAK
from stock.web.request.bakery_time import current_bakery


class BakePlanTable(tables.Table):
    """Planned cakes, one a line."""

    reference = tables.Column(
        gettext_lazy("Reference"), linkify=("planning:planned_cake", [A("pk")])
    )
    due_on = tables.Column(gettext_lazy("Due"))
    cake = tables.Column(gettext_lazy("Cake"), accessor="cake__item__name")
    quantity = tables.Column(
        gettext_lazy("How many"), attrs={"td": {"class": "num"}, "th": {"class": "num"}}
    )
    size = tables.Column(gettext_lazy("Size"), empty_values=())
    status = tables.Column(gettext_lazy("Status"))
    note = tables.Column(
        gettext_lazy("Note"), default="", attrs={"td": {"class": "words"}}
    )

    class Meta:
        orderable = False
        empty_text = gettext_lazy("No cake of the plan is like that.")

    def __init__(
        self, rows: Iterable[PlannedCake], *, caption: str, today: date
    ) -> None:
        super().__init__(rows)
        self.caption = caption
        self.today = today

    def render_due_on(self, value: date, record: PlannedCake) -> str:
        """Return the day and the time of day."""
        day, clock = full_day_words(value, self.today), due_time_words(record.due_time)
        together = [words.replace(" ", NO_BREAK) for words in (day, clock) if words]
        return ", ".join(together)

    def render_cake(self, value: str) -> str:
        """Return the cake's name as it stands in a list."""
        return capitalized(value)

    def render_size(self, record: PlannedCake) -> str:
        """Return the size it is made in."""
        return size_of(record)


@dataclass(frozen=True, slots=True)
class BakePlanFilter:
    """What the list is to show."""

    words: str
    status: str
    past: bool

    @classmethod
    def of(cls, query: QueryDict) -> "BakePlanFilter":
        """Return what an address asks for; what it does not know, it leaves out."""
        status = query.get("status", "")
        return cls(
            words=query.get("words", "").strip(),
            status=status if status in PlannedCake.Status.values else "",
            past=query.get("past") == "yes",
        )

    def cakes(self, today: date) -> QuerySet[PlannedCake]:
        """Return the planned cakes it means; of the past the latest first."""
        found = PlannedCake.objects.select_related("cake__item")
        if self.past:
            found = found.filter(due_on__lt=today).order_by("-due_on", "reference")
        else:
            found = found.filter(due_on__gte=today)
        if self.status:
            found = found.filter(status=self.status)
        if self.words:
            found = found.filter(
                Q(reference__icontains=self.words)
                | Q(cake__item__name__icontains=self.words)
                | Q(note__icontains=self.words)
            )
        return found


def bake_plan(request: HttpRequest) -> HttpResponse:
    """Show the next seven days, or a week: what is due and what is made, day by day."""
    bakery, now = current_bakery(request), timezone.now()
    starts, today = bakery.week_starts, timezone.localdate(now)
    asked = _asked_day(request.GET.get("week", ""))
    first_on = first_day_of_week(asked, starts) if asked else today
    week = week_of(first_on, bakery=bakery, now=now)
    context = {
        "week": week,
        "before_on": first_day_of_week(week.first_on - ONE_DAY, starts),
        "after_on": first_day_of_week(week.last_on + ONE_DAY, starts),
        "has_cakes": week.live_count > 0 or PlannedCake.objects.exists(),
        "copied_ids": sent_ids(request.GET.get("copied", "").split(",")),
    }
    return render(request, "planning/bake_plan.html", context)


def bake_plan_list(request: HttpRequest) -> HttpResponse:
    """Show what is coming as a list, or what is past."""
    now = timezone.now()
    today = timezone.localdate(now)
    wanted = BakePlanFilter.of(request.GET)
    which = (
        _("Cakes of the past, the latest first") if wanted.past else _("Cakes to come")
    )
    caption = _("{which}, as of {moment}.").format(
        which=which, moment=moment_words(now, today)
    )
    context = {
        "table": BakePlanTable(wanted.cakes(today), caption=caption, today=today),
        "wanted": wanted,
        "statuses": PlannedCake.Status.choices,
    }
    return render(request, "planning/bake_plan_list.html", context)


def _asked_day(text: str) -> date | None:
    try:
        return Day().parse(text)
    except CellError:
        return None
