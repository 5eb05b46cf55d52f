"""Giving an order that is late, or will be, the day on which the supplier brings it."""

from datetime import date

from django.db import transaction
from django.utils import timezone

from planning.errors import DeliveryDayError
from planning.models import Order, OrderLine
from planning.orders.orders import Hand, check_version, locked_order
from planning.orders.receiving import state_error
from stock.calendar.calendar_words import date_words
from stock.models import Bakery


@transaction.atomic
def set_new_day(hand: Hand, due_on: date, *, bakery: Bakery) -> Order:
    """Say on which day comes what is still to come of an order.

    What was ordered, and for which day, stays as it was sent. Saying the same again
    changes nothing.
    """
    order = locked_order(hand)
    lines = [line for line in order.lines.all() if line.packs_to_come]
    if lines and all(line.due_on == due_on for line in lines):
        return order
    check_version(order, hand)
    if order.state not in Order.OPEN_STATES:
        raise state_error(order, "given a new day")
    now = timezone.now()
    today = now.astimezone(bakery.zone).date()
    if due_on < today:
        raise DeliveryDayError(
            f"{date_words(due_on)} has passed. Enter {date_words(today)} or later."
        )
    for line in lines:
        line.due_on = due_on
    OrderLine.objects.bulk_update(lines, ["due_on"])
    order.version += 1
    order.changed_at, order.changed_by_id = now, hand.by_id
    order.save(update_fields=["version", "changed_at", "changed_by"])
    return order
