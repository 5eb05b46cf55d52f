"""Small kitchens that are hard to buy for: fresh goods beside stock that keeps longer.

Deliveries are few, some usable the next day only, with minimum orders, packs sold so
many at a time, safety and par. The same number gives the same kitchen.
"""

from random import Random

from planning.engine.kitchen import NO_LIMIT_DAYS
from tests.engine import shelves
from tests.engine.usual_questions import MON, day

DAYS = 10
ITEMS = 3


def hard_kitchen(number):
    """Return a kitchen, its window and its demand as a dict of (node, date)."""
    dice = Random(number)
    nodes = shelves.items(*(_item(dice, node) for node in range(ITEMS)))
    suppliers = [_supplier(dice, name) for name in ("Dairy", "Mill")]
    packs = [
        _pack(dice, number, node)
        for number, node in enumerate((*range(ITEMS), dice.randrange(ITEMS)), start=1)
    ]
    lots = [
        (dice.randrange(ITEMS), float(dice.randint(1, 60)), _use_by(dice))
        for _ in range(dice.randint(0, 6))
    ]
    orders = [
        (
            dice.randrange(ITEMS),
            float(dice.randint(1, 60)),
            day(dice.randint(-1, DAYS + 1)),
            dice.randrange(2),
        )
        for _ in range(dice.randint(0, 2))
    ]
    kitchen = shelves.kitchen(
        nodes,
        lots=lots,
        orders=orders,
        suppliers=suppliers,
        packs=packs,
        closed_weekdays=frozenset(dice.sample(range(7), dice.choice([0, 0, 1]))),
    )
    used = {
        (dice.randrange(ITEMS), day(dice.randrange(DAYS))): float(dice.randint(1, 40))
        for _ in range(dice.randint(3, 12))
    }
    return kitchen, shelves.window(MON, DAYS), used


def _item(dice, node):
    return {
        "name": f"item {node}",
        "keeps": dice.choice([1, 2, 2, 3, 4, 8, NO_LIMIT_DAYS]),
        "par": float(dice.choice([0, 0, dice.randint(1, 60)])),
        "safety": float(dice.choice([0, 0, dice.randint(1, 30)])),
    }


def _supplier(dice, name):
    return shelves.supplier(
        name,
        days=sorted(dice.sample(range(7), dice.randint(1, 3))),
        cutoff_days=dice.choice([0, 1, 2]),
        usable_next_day=dice.random() < 0.5,
        minimum_order=dice.choice([0, 0, dice.randint(5, 60)]),
        delivery_fee=dice.choice([0, dice.randint(1, 9)]),
    )


def _pack(dice, number, node):
    return shelves.pack(
        node,
        dice.randint(1, 30),
        dice.randint(1, 900) / 100,
        supplier=dice.randrange(2),
        pack_id=number,
        minimum_packs=dice.choice([1, 1, 2, 3]),
        multiple=dice.choice([1, 1, 2]),
        preferred=dice.random() < 0.3,
    )


def _use_by(dice):
    return None if dice.random() < 0.3 else day(dice.randint(-1, DAYS + 3))
