"""A draft for the mill's truck on Tuesday, and the days around it."""

from datetime import UTC, date, datetime

from planning.models import Order
from tests import build

State = Order.State
MONDAY_NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)
TUESDAY, FRIDAY = date(2026, 5, 5), date(2026, 5, 8)


def draft(mill, *lines):
    return build.order(
        mill,
        reference="2026-014",
        deliver_on=TUESDAY,
        order_by=datetime(2026, 5, 4, 14, tzinfo=UTC),
        state=State.DRAFT,
        lines=lines,
    )
