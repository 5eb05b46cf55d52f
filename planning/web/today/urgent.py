"""What cannot wait: shortfalls by what can still be done about them, and trucks."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from enum import IntEnum

from planning.engine.plan import (
    Shortfall,
    ShortfallKind,
    SuggestedLine,
    SuggestedOrder,
)
from planning.web.page_words import PageWords
from planning.web.shortfalls.shortfall_rows import ShortfallRow, shortfall_rows

SATURDAY, SUNDAY = 5, 6
ITEMS_NAMED = 4


class Urgency(IntEnum):
    """What a shortfall still allows, the gravest first."""

    NO_DELIVERY = 0
    ORDER_TODAY = 1
    ORDER_SOON = 2
    LATER = 3


@dataclass(frozen=True, slots=True)
class UrgentGroup:
    """Shortfalls that ask for the same thing."""

    heading: str
    rows: list[ShortfallRow]
    to_do: str  # in few words, as in "2 items to order today"
    is_too_late: bool = False

    @property
    def summary(self) -> str:
        """How many items ask for it."""
        count = len(self.rows)
        return f"{count} {'item' if count == 1 else 'items'} {self.to_do}"


@dataclass(frozen=True, slots=True)
class Urgent:
    """What runs short and cannot wait, and how much more there is."""

    groups: list[UrgentGroup]
    later_count: int


@dataclass(frozen=True, slots=True)
class TruckLine:
    """One line of a suggested order."""

    item_id: int
    item_name: str
    packs: str
    cost: Decimal


@dataclass(frozen=True, slots=True)
class TruckRow:
    """One suggested order, in words; its lines and its fee are its cost."""

    supplier: str
    order_by: str
    is_today: bool
    deliver_on: str
    items: str
    lines: list[TruckLine]
    fee: Decimal
    total_cost: Decimal


def weekend_end(today: date) -> date:
    """Return the Sunday of the next weekend; on a weekend, of the one after it.

    >>> weekend_end(date(2026, 5, 8)), weekend_end(date(2026, 5, 9))
    (datetime.date(2026, 5, 10), datetime.date(2026, 5, 17))
    """
    ahead_days = SUNDAY - today.weekday()
    return today + timedelta(
        days=ahead_days + (7 if today.weekday() >= SATURDAY else 0)
    )


def read_urgent(words: PageWords, until: date) -> Urgent:
    """Return the shortfalls of use or safety that cannot wait until a day is over.

    One query, for the cakes behind them.
    """
    shortfalls = [
        row
        for row in words.planned.plan.shortfalls
        if row.kind is not ShortfallKind.BELOW_PAR
    ]
    urgency = {row.node: _urgency(words, row, until) for row in shortfalls}
    concerned = [row for row in shortfalls if urgency[row.node] is not Urgency.LATER]
    concerned.sort(key=lambda row: _gravity(row, urgency[row.node]))
    rows = shortfall_rows(words, concerned)
    by = words.day(until)
    levels = {
        Urgency.NO_DELIVERY: ("Too late: no delivery saves these", "no delivery saves"),
        Urgency.ORDER_TODAY: ("Runs short: order today", "to order today"),
        Urgency.ORDER_SOON: (f"Runs short: order by {by}", f"to order by {by}"),
    }
    groups = [
        UrgentGroup(
            heading,
            [
                row
                for row, short in zip(rows, concerned, strict=True)
                if urgency[short.node] is level
            ],
            to_do,
            is_too_late=level is Urgency.NO_DELIVERY,
        )
        for level, (heading, to_do) in levels.items()
    ]
    return Urgent(
        groups=[group for group in groups if group.rows],
        later_count=len(shortfalls) - len(concerned),
    )


def truck_rows(
    words: PageWords, orders: Iterable[SuggestedOrder], until: date
) -> tuple[list[TruckRow], int]:
    """Return the orders to place until a day is over, and how many come later."""
    by_moment = sorted(orders, key=lambda order: order.order_by)
    soon = [order for order in by_moment if _local_day(words, order.order_by) <= until]
    rows = [
        TruckRow(
            supplier=words.planned.kitchen.suppliers[order.supplier].name,
            order_by=words.moment(order.order_by),
            is_today=_local_day(words, order.order_by) == words.today,
            deliver_on=words.day(order.deliver_on),
            items=_items(words, order),
            lines=[_truck_line(words, line) for line in order.lines],
            fee=order.fee,
            total_cost=order.total_cost,
        )
        for order in soon
    ]
    return rows, len(by_moment) - len(soon)


def _urgency(words: PageWords, row: Shortfall, until: date) -> Urgency:
    if row.remedy is None:
        return Urgency.NO_DELIVERY
    order_on = _local_day(words, row.remedy.order_by)
    if order_on == words.today:
        return Urgency.ORDER_TODAY
    return Urgency.ORDER_SOON if order_on <= until else Urgency.LATER


def _gravity(row: Shortfall, urgency: Urgency) -> tuple[Urgency, datetime | date, bool]:
    if row.remedy is None:
        return urgency, row.first_on, row.kind is not ShortfallKind.OUT
    return urgency, row.remedy.order_by, row.kind is not ShortfallKind.OUT


def _local_day(words: PageWords, at: datetime) -> date:
    return at.astimezone(words.planned.bakery.zone).date()


def _truck_line(words: PageWords, line: SuggestedLine) -> TruckLine:
    nodes = words.planned.kitchen.nodes
    return TruckLine(
        item_id=nodes.ids[line.pack.node],
        item_name=nodes.names[line.pack.node],
        packs=f"{line.packs:,} \N{MULTIPLICATION SIGN} {line.pack.label}",
        cost=line.line_cost,
    )


def _items(words: PageWords, order: SuggestedOrder) -> str:
    names = [words.planned.kitchen.nodes.names[line.pack.node] for line in order.lines]
    shown = names[:ITEMS_NAMED]
    more = len(names) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")
