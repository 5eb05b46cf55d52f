"""Kitchens that are asked for one more cake, and what they promise."""

from dataclasses import replace

from planning.engine.deliveries import possible_deliveries
from planning.engine.demand.explosion import explode
from planning.engine.scenarios.one_more import OneMore
from planning.engine.scenarios.promise import Promiser
from planning.engine.usual_rule.usual_rule import usual_rule
from tests.engine import shelves
from tests.engine.small_kitchen import SmallKitchen, day, floats, window

TUE, FRI = 1, 4


def butter_kitchen(*, butter=1_000, eggs=30):
    """A torte takes 400 g of butter and 4 eggs; two are planned, Wednesday, Saturday.

    Dairy comes on Tuesday and Friday, ordered by 14:00 of the day before.
    """
    small = SmallKitchen().item("butter").item("eggs", unit="each")
    small.cake("Torte", {"butter": 400, "eggs": 4})
    small.plan("T-1", "Torte", day(2)).plan("T-2", "Torte", day(5))
    return small.stock("butter", butter).stock("eggs", eggs)


def dairy(**terms):
    return shelves.supplier("Dairy", days=(TUE, FRI), **terms)


def packs(small, *, butter=None, eggs=None, **terms):
    found = []
    if butter:
        size, price = butter
        found.append(shelves.pack(small.index("butter"), size, price, **terms))
    if eggs:
        size, price = eggs
        found.append(shelves.pack(small.index("eggs"), size, price))
    return found


def promise_for(
    small,
    due_on,
    *,
    cake="Torte",
    quantity=1.0,
    sold=(),
    suppliers=None,
    safety=None,
    planned_to=None,
):
    kitchen = replace(
        small.build(),
        suppliers=tuple([dairy()] if suppliers is None else suppliers),
        packs=tuple(sold),
    )
    if safety:
        safety_base = floats([safety.get(name, 0) for name in kitchen.nodes.names])
        kitchen = replace(
            kitchen, nodes=replace(kitchen.nodes, safety_base=safety_base)
        )
    promiser = promiser_of(kitchen, window(), planned_to)
    return promiser.ask(OneMore(small.index(cake), "", due_on, quantity))


def promiser_of(kitchen, days_ahead, planned_to=None):
    explosion = explode(kitchen, days_ahead)
    deliveries = possible_deliveries(kitchen, days_ahead)
    bought = usual_rule(kitchen, days_ahead, explosion.demand, deliveries)
    return Promiser(explosion, days_ahead, deliveries, bought.orders, planned_to)


def names_of_lines(promise, order):
    nodes = promise.effect.kitchen.nodes
    return [nodes.names[line.pack.node] for line in order.lines]


def names(promise, rows):
    return [promise.effect.kitchen.nodes.names[row.node] for row in rows]


def short_on_saturday():
    """1,000 g: 400 on Wednesday, 800 on Saturday, so 200 are short without more."""
    return butter_kitchen().plan("T-3", "Torte", day(5))
