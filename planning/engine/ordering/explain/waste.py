"""A caution where most of what is bought goes out of date."""

from collections.abc import Sequence

from planning.engine.decided import coming_lines
from planning.engine.deliveries import Delivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.ordering.explain.order_comparison import wasted_costs
from planning.engine.plan import Demand, Purchasing
from stock.wording.money_words import money_words

TOO_LARGE = (
    "minimum orders or packs are far larger than the need. Buy by hand or elsewhere, "
    "or leave the delivery out."
)
# What somebody has decided on is not bought by hand as well.
DECIDED = (
    "minimum orders, packs or what was decided on are far larger than the need. Look "
    "first at the orders that wait to be sent."
)


def waste_warnings(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[Delivery],
    purchasing: Purchasing,
) -> tuple[str, ...]:
    """Return a sentence where more than half of the goods are bought for nothing."""
    goods = purchasing.goods_cost
    [wasted] = wasted_costs(kitchen, window, demand, deliveries, [purchasing])
    if 2 * wasted <= goods:
        return ()
    currency = kitchen.bakery.currency
    why = DECIDED if coming_lines(kitchen, deliveries) else TOO_LARGE
    return (
        f"Of {money_words(goods, currency)} for goods {money_words(wasted, currency)} "
        f"is for what will expire: {why}",
    )
