"""Made-up kitchens of the engine, of three sizes, the same every time.

A size says how many cakes are planned, how many items are bought, how many recipe
lines there are and over how many days the cakes fall.
"""

import itertools
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import numpy as np

from planning.engine.kitchen import (
    NO_LIMIT_DAYS,
    NO_NODE,
    BakeryTerms,
    Kitchen,
    Lines,
    NodeKind,
    Nodes,
    OpenOrderLines,
    PackTerms,
    PlannedCakes,
    Scale,
    StockLots,
    SupplierTerms,
    Window,
)

FROM_ON = date(2026, 5, 4)
SEED = 20260504
LEVELS = 4  # cakes, and made recipes on three levels below them
CAKES_FRACTION = 0.2  # of all recipes
COMPONENT_FRACTION = 0.25  # of the lines above the lowest level
SIZES = (
    "",
    "6 in round x 2",
    "8 in round x 3",
    "9 x 13 in sheet x 2",
    "10 in round x 3 + 6 in round x 3",
    "12 in square x 2 + 8 in square x 2 + 6 in round x 2",
)
BASE_SIZE = "8 in round x 3"


@dataclass(frozen=True)
class Size:
    planned_cakes: int
    items: int
    lines: int
    days: int
    lines_a_recipe: int
    suppliers: int


SMALL = Size(20, 60, 100, 14, 8, 3)
MEDIUM = Size(200, 400, 2_000, 28, 10, 8)
LARGE = Size(2_000, 3_000, 100_000, 90, 20, 40)
SIZES_BY_NAME = {"S": SMALL, "M": MEDIUM, "L": LARGE}


def window_of(size, *, tentative=True):
    noon = datetime(FROM_ON.year, FROM_ON.month, FROM_ON.day, 12, tzinfo=UTC)
    return Window(as_of=noon, from_on=FROM_ON, days=size.days, tentative=tentative)


def kitchen_of(size):
    """Return a kitchen: bought items first, then made recipes from below, then cakes.

    A third of the recipes are made in half batches, a third of the made ones lie
    ready in part; the first item is a whole that two parts come from.
    """
    random = np.random.default_rng(SEED)
    recipes_by_level = _recipes_by_level(size)
    lines = _lines(size, random, recipes_by_level)
    nodes = _nodes(size, random, recipes_by_level)
    suppliers = _suppliers(size)
    packs = _packs(size, random)
    return Kitchen(
        bakery=BakeryTerms(
            zone_key="UTC",
            currency="USD",
            closed_weekdays=frozenset({6}),
            closed_on=frozenset({FROM_ON + timedelta(days=8)}),
        ),
        nodes=nodes,
        lines=lines,
        cakes=_planned(size, random, nodes),
        lots=_lots(random, nodes),
        open_orders=_open_orders(size, random, packs),
        suppliers=suppliers,
        packs=packs,
    )


def _recipes_by_level(size):
    """Return ranges of nodes: made recipes of the lowest level first, cakes last."""
    recipes = max(size.lines // size.lines_a_recipe, LEVELS)
    cakes = max(round(recipes * CAKES_FRACTION), 1)
    first = size.items + 2  # two parts follow the items
    bounds = np.linspace(first, first + recipes - cakes, LEVELS).astype(int).tolist()
    levels = [range(a, b) for a, b in itertools.pairwise(bounds)]
    return [*levels, range(bounds[-1], bounds[-1] + cakes)]


def _lines(size, random, recipes_by_level):
    recipes = np.concatenate([np.array(level) for level in recipes_by_level])
    recipe = np.sort(np.resize(recipes, size.lines))
    component = random.integers(0, size.items + 2, size.lines)
    for below, level in itertools.pairwise(recipes_by_level):
        in_level = np.flatnonzero((recipe >= level.start) & (recipe < level.stop))
        chosen = in_level[random.random(len(in_level)) < COMPONENT_FRACTION]
        component[chosen] = random.integers(below.start, below.stop, len(chosen))
    is_cake = recipe >= recipes_by_level[-1].start
    scale = np.where(is_cake, random.integers(0, len(Scale), size.lines), Scale.CAKE)
    return Lines(
        recipe=recipe.astype(np.int64),
        component=component.astype(np.int64),
        quantity_base=random.integers(1, 400, size.lines).astype(np.float64),
        yield_fraction=random.choice([1.0, 1.0, 1.0, 0.85], size.lines),
        scale=scale.astype(np.int64),
    )


def _nodes(size, random, recipes_by_level):
    count = recipes_by_level[-1].stop
    kind = np.full(count, NodeKind.MADE, dtype=np.int64)
    kind[: size.items] = NodeKind.BOUGHT
    kind[size.items : size.items + 2] = NodeKind.PART
    kind[recipes_by_level[-1].start :] = NodeKind.CAKE
    is_made, is_part = kind == NodeKind.MADE, kind == NodeKind.PART
    is_bought = kind == NodeKind.BOUGHT
    is_stepped = is_made & (random.random(count) < 1 / 3)
    keeps_days = random.integers(2, 60, count)
    keeps_days[is_part] = 1
    return Nodes(
        ids=list(range(1, count + 1)),
        names=[f"{NodeKind(value).name.lower()} {n}" for n, value in enumerate(kind)],
        units=[
            "each" if n == 0 or k == NodeKind.CAKE else "g" for n, k in enumerate(kind)
        ],
        kind=kind,
        retired=np.zeros(count, dtype=np.bool_),
        safety_base=np.where(is_bought, random.integers(0, 500, count), 0.0),
        par_base=np.where(is_bought, random.integers(500, 20_000, count), 0.0),
        keeps_days=np.where(random.random(count) < 0.2, NO_LIMIT_DAYS, keeps_days),
        whole=np.where(is_part, 0, NO_NODE),
        part_yields_base=np.where(is_part, random.integers(15, 40, count), 0.0),
        yield_base=np.where(is_made, random.integers(500, 5_000, count), 1.0),
        batch_step=np.where(is_stepped, 0.5, 0.0),
        loss_fraction=np.where(is_made, random.choice([0.0, 0.04], count), 0.0),
        lead_days=np.where(is_made, random.integers(0, 3, count), 0),
        base_size=[BASE_SIZE if value == NodeKind.CAKE else "" for value in kind],
        largest_batch=np.where(is_made, 4.0, 0.0),
    )


def _planned(size, random, nodes):
    cakes = np.flatnonzero(nodes.kind == NodeKind.CAKE)
    count = size.planned_cakes
    due = np.sort(random.integers(0, size.days, count)).tolist()
    return PlannedCakes(
        references=[f"B-{number:05}" for number in range(count)],
        due_on=[FROM_ON + timedelta(days=days) for days in due],
        cake=random.choice(cakes, count),
        sizes=[SIZES[place] for place in random.integers(0, len(SIZES), count)],
        quantity=random.integers(1, 4, count).astype(np.float64),
        tentative=random.random(count) < 0.1,
    )


def _lots(random, nodes):
    bought = np.flatnonzero(nodes.kind == NodeKind.BOUGHT)
    made = np.flatnonzero(nodes.kind == NodeKind.MADE)
    ready = made[random.random(len(made)) < 1 / 3]
    node = np.concatenate([np.repeat(bought, 2), ready])
    days = random.integers(-2, 60, len(node)).tolist()
    return StockLots(
        node=node,
        amount_base=random.integers(100, 9_000, len(node)).astype(np.float64),
        use_by=[FROM_ON + timedelta(days=count) for count in days],
    )


def _suppliers(size):
    return tuple(
        SupplierTerms(
            supplier_id=number + 1,
            name=f"supplier {number}",
            delivery_weekdays=(number % 5, (number + 3) % 6),
            cutoff_days=1 + number % 3,
            cutoff_time=time(14, 0),
            usable_next_day=number % 3 != 0,
            minimum_order=Decimal(50 * (number % 4)),
            delivery_fee=Decimal(number % 3 * 10),
        )
        for number in range(size.suppliers)
    )


def _packs(size, random):
    sizes = random.choice([500.0, 1_000.0, 5_000.0, 22_679.6185], 2 * size.items)
    cents = random.integers(200, 9_000, 2 * size.items).tolist()
    suppliers = random.integers(0, size.suppliers, 2 * size.items).tolist()
    return tuple(
        PackTerms(
            pack_id=number + 1,
            node=number // 2,
            supplier=suppliers[number],
            label=f"case {number}",
            called="case",
            code=f"C{number:05}",
            size_base=float(sizes[number]),
            price=Decimal(cents[number]) / 100,
            preferred=number % 2 == 0,
        )
        for number in range(2 * size.items)
    )


def _open_orders(size, random, packs):
    count = size.items // 4
    chosen = [packs[place] for place in random.integers(0, len(packs), count).tolist()]
    days = random.integers(-1, size.days, count).tolist()
    return OpenOrderLines(
        references=[f"P-{number:05}" for number in range(count)],
        supplier=np.array([pack.supplier for pack in chosen], dtype=np.int64),
        node=np.array([pack.node for pack in chosen], dtype=np.int64),
        amount_base=np.array([3 * pack.size_base for pack in chosen]),
        due_on=[FROM_ON + timedelta(days=day) for day in days],
    )
