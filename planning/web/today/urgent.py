"""What cannot wait: shortfalls by what can still be done about them, and trucks."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from enum import IntEnum

from planning.engine.kitchen import DecidedLine
from planning.engine.plan import (
    Shortfall,
    ShortfallKind,
    SuggestedLine,
    SuggestedOrder,
)
from planning.engine.scenarios.ways_out import Way
from planning.web.page_words import PageWords
from planning.web.shortfalls.shortfall_rows import ShortfallRow, shortfall_rows

SATURDAY, SUNDAY = 5, 6
ITEMS_NAMED = 4


class Urgency(IntEnum):
    """What a shortfall still allows, the gravest first."""

    TOO_LATE = 0
    NOT_SOLD = 1
    NEVER_USABLE = 2
    ORDER_TODAY = 3
    ORDER_SOON = 4
    SEND = 5
    LATER = 6


WITHOUT_DELIVERY = {
    Way.TOO_LATE: Urgency.TOO_LATE,
    Way.NOT_SOLD: Urgency.NOT_SOLD,
    Way.NEVER_USABLE: Urgency.NEVER_USABLE,
    Way.NO_DELIVERY: Urgency.LATER,
}


@dataclass(frozen=True, slots=True)
class UrgentGroup:
    """Shortfalls that ask for the same thing."""

    heading: str
    rows: list[ShortfallRow]
    to_do: str  # in few words, as in "2 items to order today"

    @property
    def has_lost(self) -> bool:
        """Whether any of it has to be bought by hand."""
        return any(row.is_lost for row in self.rows)

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
    to_do: str  # order, or send the order that waits
    is_to_send: bool
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
    concerns = [_concern(words, row, until) for row in shortfalls]
    pressing = sorted(
        (concern for concern in concerns if concern.urgency is not Urgency.LATER),
        key=lambda concern: concern.gravity,
    )
    rows = shortfall_rows(words, [concern.row for concern in pressing])
    groups = [
        UrgentGroup(
            heading,
            [
                row
                for row, concern in zip(rows, pressing, strict=True)
                if concern.urgency is level
            ],
            to_do,
        )
        for level, (heading, to_do) in _levels(words.day(until)).items()
    ]
    return Urgent(
        groups=[group for group in groups if group.rows],
        later_count=len(shortfalls) - len(pressing),
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
            to_do=_to_do(waiting),
            is_to_send=waiting is not None,
            order_by=words.moment(order.order_by),
            is_today=_local_day(words, order.order_by) == words.today,
            deliver_on=words.day(order.deliver_on),
            items=_items(words, order),
            lines=[_truck_line(words, line) for line in order.lines],
            fee=order.fee,
            total_cost=order.total_cost,
        )
        for order in soon
        for waiting in (words.planned.waiting(order),)
    ]
    return rows, len(by_moment) - len(soon)


@dataclass(frozen=True, slots=True)
class _Concern:
    """A shortfall, and how soon something has to be done about it."""

    row: Shortfall
    urgency: Urgency
    act_by: datetime | date  # of one urgency all are of one kind

    @property
    def gravity(self) -> tuple[Urgency, datetime | date, bool]:
        """What comes first: by what can be done, by when, then what runs out."""
        return self.urgency, self.act_by, self.row.kind is not ShortfallKind.OUT


def _concern(words: PageWords, row: Shortfall, until: date) -> _Concern:
    out = words.planned.ways_out.of(row)
    if out.delivery is None:
        return _Concern(row, WITHOUT_DELIVERY[out.way], row.first_on)
    order_by, urgency = out.delivery.order_by, Urgency.LATER
    order_on = _local_day(words, order_by)
    if order_on <= until:
        is_today = order_on == words.today
        urgency = Urgency.ORDER_TODAY if is_today else Urgency.ORDER_SOON
        if out.waiting is not None:
            urgency = Urgency.SEND
    return _Concern(row, urgency, order_by)


def _levels(by: str) -> dict[Urgency, tuple[str, str]]:
    """Return the heading of each urgency, and what it asks for in few words."""
    return {
        Urgency.TOO_LATE: ("Too late for any delivery", "too late for any delivery"),
        Urgency.NOT_SOLD: ("No supplier sells these", "that no supplier sells"),
        Urgency.NEVER_USABLE: (
            "Expired before usable",
            "expired before they can be used",
        ),
        Urgency.ORDER_TODAY: ("Runs short: order today", "to order today"),
        Urgency.ORDER_SOON: (f"Runs short: order by {by}", f"to order by {by}"),
        Urgency.SEND: ("On orders to be sent", "on orders to be sent"),
    }


def _local_day(words: PageWords, at: datetime) -> date:
    return at.astimezone(words.planned.bakery.zone).date()


def _to_do(waiting: DecidedLine | None) -> str:
    if waiting is None:
        return "Order"
    verb = "Send" if waiting.is_approved else "Approve and send"
    return f"{verb} {waiting.reference}"


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
