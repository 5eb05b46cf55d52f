"""A kitchen whose flour came on Monday, went into layers, and these into a cake."""

from dataclasses import dataclass
from datetime import timedelta

from planning.models import Delivery, Order, PlannedCake, Recipe
from stock.models import Item, Lot, Place
from tests import build
from tests.build import MONDAY
from tests.planning.bakes import bake, make
from tests.planning.deliveries import receive

TUESDAY = MONDAY + timedelta(days=1)


@dataclass
class TracedKitchen:
    rack: Place
    flour: Item
    layers: Recipe
    honey_cake: Recipe
    order: Order
    delivery: Delivery
    planned: PlannedCake

    @property
    def flour_lot(self) -> Lot:
        return Lot.objects.get(item=self.flour, code="F1")


def traced_kitchen(**of_the_flour) -> TracedKitchen:
    """3 kg of flour of lot F1 came; 600 g made a kilo of layers, 700 g of it a cake.

    The flour is for people with a label: wheat. Nothing else is entered of labels.
    """
    build.bakery(time_zone="UTC")
    rack = build.place("rack")
    mill = build.supplier("Mill")
    flour = build.item("flour", place=rack, **{"allergens": "wheat"} | of_the_flour)
    order = build.order(
        mill, reference="2026-004", lines=[(build.pack(flour, mill, label="bag"), 3)]
    )
    delivery = receive(order, 3, lot_code="F1", use_by=MONDAY + timedelta(days=60))
    layers = build.recipe(
        "layers", yield_base=1_000, batch_step=1, keeps_days=3, lines=[(flour, 600)]
    )
    box = build.item(
        "box", kind="packaging", measure="count", on_hand_base=10, place=rack
    )
    cake = build.cake("honey cake", lines=[(box, 1)])
    build.recipe_line(cake, layers, 700, scales_with="volume", position=1)
    planned = build.planned_cake(cake, reference="2122", due_on=TUESDAY)
    make(layers)
    bake(planned)
    return TracedKitchen(rack, flour, layers, cake, order, delivery, planned)
