"""Orders for flour on their way: drafted, changed and sent as people do it."""

from datetime import UTC, date, datetime, timedelta

from planning.models import Order
from planning.orders.drafting import draft_what_is_needed
from planning.orders.orders import Hand, approve_order, send_order
from planning.plan.planner import make_plan
from stock.models import Bakery
from tests import build
from tests.build import NOON

State = Order.State
TUESDAY, FRIDAY = date(2026, 5, 5), date(2026, 5, 8)
TWO_PM = datetime(2026, 5, 4, 14, tzinfo=UTC)  # the cut-off of Tuesday's truck
LATER = NOON + timedelta(minutes=5)


def cakes(flour, quantity, **fields):
    """Cakes for Friday that take 1,000 g of flour each."""
    cake = build.cake(lines=[(flour.item, 1_000)])
    return build.planned_cake(cake, due_on=FRIDAY, quantity=quantity, **fields)


def draft(at=NOON, by=None):
    return draft_what_is_needed(
        bakery=Bakery.objects.get(), at=at, by_id=by.pk if by else None
    )


def suggested():
    return make_plan(bakery=Bakery.objects.get(), as_of=NOON).plan.purchasing.orders


def hand(order, *, by=None, at=NOON, version=None):
    order.refresh_from_db()
    return Hand(order.pk, version or order.version, at, by.pk if by else None)


def packs(order):
    return {line.pack.label: line.packs for line in order.lines.select_related("pack")}


def drafted(flour, mill, packs=3):
    return build.order(
        mill, deliver_on=TUESDAY, state=State.DRAFT, lines=[(flour, packs)]
    )


def sent(order, by=None):
    approve_order(hand(order, by=by))
    return send_order(hand(order, by=by))
