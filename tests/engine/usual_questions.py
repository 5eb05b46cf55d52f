"""The usual rule asked: small kitchens with butter, and what is bought for them."""

from datetime import date, timedelta

from planning.engine.deliveries import possible_deliveries
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.said import said

MON = date(2026, 5, 4)


def day(number):
    return MON + timedelta(days=number)


def bought(kitchen, used=(), *, days=7, amounts=None, **kwargs):
    window = shelves.window(MON, days)
    used = {
        (node, day(number)): amount for (node, number), amount in dict(used).items()
    }
    asked = kitchen, window, shelves.demand(kitchen.nodes, used)
    deliveries = possible_deliveries(kitchen, window)
    return said(kitchen, usual_rule(*asked, deliveries, **kwargs), amounts)


def lines_of(purchasing):
    """What is bought, as (delivery day, node, packs)."""
    return [
        ((order.deliver_on - MON).days, line.pack.node, line.packs)
        for order in purchasing.orders
        for line in order.lines
    ]


def butter(lots=(), orders=(), suppliers=(), packs=(), **item):
    return shelves.kitchen(
        shelves.items({"name": "butter", **item}),
        lots=[(0, amount, None) for amount in lots],
        orders=[(0, amount, day(due), 0) for amount, due in orders],
        suppliers=suppliers or [shelves.supplier()],
        packs=packs or [shelves.pack(0, 10, 5)],
    )
