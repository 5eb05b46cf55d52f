"""Giving an order another day: one that is late, or a draft nobody sent in time."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction
from django.utils.translation import gettext as _

from planning.errors import DeliveryDayError
from planning.models import Order, OrderLine
from planning.orders.orders import (
    Hand,
    check_version,
    locked_order,
    refuse_taken_truck,
)
from planning.orders.own_changes import is_own_change
from planning.orders.receiving import state_error
from planning.plan.order_terms import order_by
from stock.calendar.calendar_words import date_words
from stock.models import Bakery


@transaction.atomic
def set_new_day(hand: Hand, due_on: date, *, bakery: Bakery) -> Order:
    """Say on which day comes what is still to come of an order.

    What was ordered, and for which day, stays as it was sent; a draft itself is for the
    new day, and is somebody's own from then on. Saying the same again changes nothing.
    """
    order = locked_order(hand)
    if order.state == Order.State.DRAFT:
        return _move_draft(order, hand, due_on, bakery)
    lines = [line for line in order.lines.all() if line.packs_to_come]
    is_same = bool(lines) and all(line.due_on == due_on for line in lines)
    if is_same and is_own_change(order, hand.version, hand.by_id):
        return order
    check_version(order, hand)
    if order.state not in Order.OPEN_STATES:
        raise state_error(order, _("given a new day"))
    if is_same:
        return order
    _set_due(lines, due_on, hand.at, bakery)
    _save_changed(order, hand)
    return order


def _move_draft(order: Order, hand: Hand, deliver_on: date, bakery: Bakery) -> Order:
    is_same = order.deliver_on == deliver_on
    if is_same and is_own_change(order, hand.version, hand.by_id):
        return order
    check_version(order, hand)
    if is_same:
        return order
    _set_due(list(order.lines.all()), deliver_on, hand.at, bakery)
    order.deliver_on = deliver_on
    order.order_by = order_by(order.supplier, bakery, deliver_on)
    refuse_taken_truck(order)
    order.changed_by_hand = True
    _save_changed(order, hand)
    return order


def check_day(due_on: date, at: datetime, bakery: Bakery) -> None:
    """Refuse a day over by `at`, in the bakery's zone, for what is still to come."""
    today = at.astimezone(bakery.zone).date()
    if due_on < today:
        raise DeliveryDayError(
            _("{date} has passed. Enter {date2} or later.").format(
                date=date_words(due_on), date2=date_words(today)
            )
        )


def _set_due(
    lines: Sequence[OrderLine], due_on: date, at: datetime, bakery: Bakery
) -> None:
    check_day(due_on, at, bakery)
    for line in lines:
        line.due_on = due_on
    OrderLine.objects.bulk_update(lines, ["due_on"])


def _save_changed(order: Order, hand: Hand) -> None:
    order.version += 1
    order.changed_at, order.changed_by_id = hand.at, hand.by_id
    order.save()
