"""What a person's calendar holds: cut-offs, deliveries and cakes, each an event."""

from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta

from django.utils.translation import gettext as _

from planning.engine.kitchen import SupplierDay
from planning.exports.calendar_file import CalendarEvent
from planning.models import Order, PlannedCake
from planning.orders.drafting import truck_of
from planning.orders.order_book import BookedOrder, booked_orders
from planning.plan.planner import Planned
from planning.sentences.cakes_named import reference_words
from planning.sentences.words import capitalized
from stock.calendar.calendar_words import clock_words, date_words
from stock.models import Bakery

DAYS_BACK = 7  # what is over stays so long
CUT_OFF_ALARMS = (timedelta(days=-1), timedelta(hours=-2))
DELIVERY_ALARMS = (timedelta(hours=7),)  # at 7 that morning
CAKE_ALARMS = (timedelta(hours=-15),)  # at 9 the morning before

# The address of a row's page: `link("order", 7)`, or of a page without one.
Link = Callable[..., str]


def coming_events(
    bakery: Bakery, planned: Planned | None, *, today: date, link: Link
) -> list[CalendarEvent]:
    """Return all that is coming, from a week ago on.

    Orders that the plan only suggests have their cut-offs too; without a plan they are
    left out. Four queries.
    """
    states = (*Order.UNSENT_STATES, *Order.OPEN_STATES)
    booked = booked_orders(Order.objects.filter(state__in=states), bakery=bakery)
    since = today - timedelta(days=DAYS_BACK)
    events = [
        *_deliveries(booked, link),
        *_cut_offs(booked, planned, bakery, link),
        *_cakes(since, link),
    ]
    return sorted(
        (event for event in events if _day(event.starts) >= since),
        key=lambda event: (_day(event.starts), event.key),
    )


def _day(starts: date | datetime) -> date:
    return starts.date() if isinstance(starts, datetime) else starts


def _deliveries(booked: Iterable[BookedOrder], link: Link) -> Iterable[CalendarEvent]:
    for each in booked:
        if not each.is_open:
            continue
        order = each.order
        lines = [
            f"{line.packs_expected} x {line.pack.label}, {line.pack.item.name}"
            for line in each.lines
            if line.packs_expected
        ]
        yield CalendarEvent(
            key=f"delivery-{order.pk}",
            title=_("Delivery: {name} ({reference})").format(
                name=order.supplier.name, reference=order.reference
            ),
            starts=each.due_on,
            alarms=DELIVERY_ALARMS,
            details="\n".join(lines),
            link=link("order", order.pk),
        )


def _cut_offs(
    booked: Iterable[BookedOrder],
    planned: Planned | None,
    bakery: Bakery,
    link: Link,
) -> Iterable[CalendarEvent]:
    """Return the cut-off of each order that is still to be sent, one a delivery."""
    waiting = {
        SupplierDay(each.order.supplier_id, each.order.deliver_on): each
        for each in booked
        if each.order.state in Order.UNSENT_STATES
    }
    for truck, each in waiting.items():
        if each.sheet.order_by is not None:
            address = link("order", each.order.pk)
            yield _cut_off(each.sheet.supplier, truck, each.sheet.order_by, address)
    if planned is None:
        return
    for order in planned.plan.purchasing.orders:
        truck = truck_of(planned, order)
        if truck not in waiting:
            supplier = planned.kitchen.suppliers[order.supplier].name
            order_by = order.order_by.astimezone(bakery.zone)
            yield _cut_off(supplier, truck, order_by, link("orders"))


def _cut_off(
    supplier: str, truck: SupplierDay, order_by: datetime, link: str
) -> CalendarEvent:
    clock = clock_words(order_by.time())
    return CalendarEvent(
        # The same before and after the order is drafted.
        key=f"cut-off-{truck.supplier_id}-{truck.deliver_on.isoformat()}",
        title=_("Order by {clock}: {supplier}").format(clock=clock, supplier=supplier),
        starts=order_by,
        alarms=CUT_OFF_ALARMS,
        details=_("For delivery on {date}.").format(date=date_words(truck.deliver_on)),
        link=link,
    )


def _cakes(since: date, link: Link) -> Iterable[CalendarEvent]:
    rows = PlannedCake.objects.filter(due_on__gte=since)
    rows = rows.exclude(status=PlannedCake.Status.CANCELLED)
    for row in rows.select_related("cake__item"):
        count = f"{row.quantity} x " if row.quantity > 1 else ""
        at = f", {clock_words(row.due_time)}" if row.due_time else ""
        reference = reference_words(row.reference)
        yield CalendarEvent(
            key=f"cake-{row.pk}",
            title=f"{count}{capitalized(row.cake.item.name)} ({reference}){at}",
            starts=row.due_on,
            alarms=CAKE_ALARMS,
            details=". ".join(filter(None, (row.size, row.get_status_display()))),
            link=link("planned_cake", row.pk),
            is_tentative=row.status == PlannedCake.Status.TENTATIVE,
        )
