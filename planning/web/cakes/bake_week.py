"""The days of one week of the bake plan: what is due, and what is made."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from planning.engine.kitchen import Nodes
from planning.engine.plan import Making
from planning.errors import PlanningError
from planning.models import PlannedCake, Recipe
from planning.plan.outlook import Outlook, last_day_ahead, look_ahead
from planning.plan.snapshot import bakery_terms
from planning.web.cakes.cake_words import ahead_query, making_words
from stock.calendar.calendars import WEEKDAYS
from stock.models import Bakery

WEEK = timedelta(days=7)
ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class MadeOnDay:
    """How much of one recipe is made on a day."""

    recipe_id: int
    recipe_name: str
    words: str
    is_late: bool


@dataclass(frozen=True, slots=True)
class WeekDay:
    """One day: what is due on it, and what is made on it."""

    on: date
    is_closed: bool
    cakes: list[PlannedCake] = field(default_factory=list)
    making: list[MadeOnDay] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Week:
    """Seven days of the bake plan; `trouble` is why nothing is said of making."""

    days: list[WeekDay]
    trouble: str = ""
    ahead_query: str = ""  # with which an item's page looks as far ahead

    @property
    def first_on(self) -> date:
        """The day on which the week starts."""
        return self.days[0].on

    @property
    def last_on(self) -> date:
        """The week's last day."""
        return self.days[-1].on

    @property
    def live_count(self) -> int:
        """How many cakes are still to be made for these days."""
        live = PlannedCake.LIVE_STATUSES
        cakes = [cake for day in self.days for cake in day.cakes]
        return sum(cake.quantity for cake in cakes if cake.status in live)


def first_day_of_week(day: date, week_starts: str) -> date:
    """Return the day on which the week of a day starts.

    >>> first_day_of_week(date(2026, 5, 9), "Mon")
    datetime.date(2026, 5, 4)
    """
    since = (day.weekday() - WEEKDAYS.index(week_starts)) % 7
    return day - timedelta(days=since)


def week_of(first_on: date, *, bakery: Bakery, now: datetime) -> Week:
    """Return a week of the bake plan. At most eight queries."""
    cakes = _cakes_by_day(first_on)
    making, trouble, query = _making_by_day(first_on, bakery, now)
    is_closed = bakery_terms(bakery).is_closed
    days = [first_on + timedelta(days=n) for n in range(7)]
    return Week(
        [WeekDay(on, is_closed(on), cakes[on], making.get(on, [])) for on in days],
        trouble,
        query,
    )


def _cakes_by_day(first_on: date) -> dict[date, list[PlannedCake]]:
    planned = PlannedCake.objects.select_related("cake__item").filter(
        due_on__gte=first_on, due_on__lt=first_on + WEEK
    )
    by_day: dict[date, list[PlannedCake]] = defaultdict(list)
    for cake in planned:
        by_day[cake.due_on].append(cake)
    for cakes in by_day.values():
        cakes.sort(key=lambda cake: cake.status == PlannedCake.Status.CANCELLED)
    return by_day


def _making_by_day(
    first_on: date, bakery: Bakery, now: datetime
) -> tuple[dict[date, list[MadeOnDay]], str, str]:
    """Return what is made by day; what is past, or too far ahead, is not known.

    With it come what is wrong, and what an item's page takes to look as far.
    """
    today = now.astimezone(bakery.zone).date()
    last_on = first_on + WEEK - ONE_DAY
    if last_on < today or first_on > last_day_ahead(today):
        return {}, "", ""
    try:
        outlook = look_ahead(bakery=bakery, as_of=now, until=last_on)
    except PlanningError as error:
        return {}, str(error), ""
    by_day: dict[date, list[MadeOnDay]] = defaultdict(list)
    for on, made in _made(outlook, first_on, last_on):
        by_day[on].append(made)
    return by_day, "", ahead_query(outlook.window, bakery)


def _made(
    outlook: Outlook, first_on: date, last_on: date
) -> list[tuple[date, MadeOnDay]]:
    """Return what is made on some days, cakes last. One query."""
    nodes = outlook.kitchen.nodes
    made = [row for row in outlook.explosion.making if first_on <= row.on <= last_on]
    yields = dict(
        Recipe.objects.filter(
            is_cake=False, pk__in={nodes.ids[row.node] for row in made}
        ).values_list("pk", "yields")
    )
    made.sort(key=lambda row: nodes.ids[row.node] not in yields)
    return [(row.on, _shown(row, nodes, yields)) for row in made]


def _shown(row: Making, nodes: Nodes, yields: Mapping[int, str]) -> MadeOnDay:
    recipe_id = nodes.ids[row.node]
    words = making_words(row, nodes.units[row.node], yields.get(recipe_id, ""))
    return MadeOnDay(recipe_id, nodes.names[row.node], words, row.is_late)
