"""A caution where most of what is bought goes out of date."""

from collections.abc import Sequence

from planning.engine.decided import coming_lines
from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.ordering.explain.found_warnings import WasteWarning
from planning.engine.ordering.explain.order_comparison import wasted_costs
from planning.engine.plan import Demand, Purchasing


def waste_warnings(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    purchasing: Purchasing,
) -> tuple[WasteWarning, ...]:
    """Return a warning where more than half of the goods are bought for nothing."""
    goods = purchasing.goods_cost
    [wasted] = wasted_costs(kitchen, window, demand, deliveries, [purchasing])
    if 2 * wasted <= goods:
        return ()
    # What somebody has decided on is not bought by hand as well.
    is_decided = bool(coming_lines(kitchen, deliveries))
    return (WasteWarning(goods, wasted, is_decided),)
