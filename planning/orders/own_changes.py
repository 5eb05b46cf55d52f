"""Whether a change that comes again is one's own, as its version shows."""

from planning.models import Order


def is_own_change(order: Order, version: int, by_id: int | None) -> bool:
    """Whether what last befell an order is this hand's change of `version`. One query.

    Only then is a repeat harmless: that nothing differs from what is stored may as
    well be the work of somebody else, or of a page that no longer knows a line.
    """
    if order.version != version + 1 or order.changed_by_id != by_id:
        return False
    last = order.steps.last()
    return order.changed_at is not None and (
        last is None or order.changed_at >= last.at
    )
