"""Builds small kitchens by name, for tests of the engine."""

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

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
    PlannedCakes,
    Scale,
    StockLots,
    Window,
)

MONDAY = date(2026, 5, 4)


def day(number):
    """Return a day by its number after Monday, the first day of most plans."""
    return MONDAY + timedelta(days=number)


def window(days=14, *, from_on=MONDAY, tentative=True):
    noon = datetime(from_on.year, from_on.month, from_on.day, 12, tzinfo=UTC)
    return Window(as_of=noon, from_on=from_on, days=days, tentative=tentative)


@dataclass
class SmallKitchen:
    closed_weekdays: frozenset = frozenset()
    closed_on: frozenset = frozenset()
    layer_height_cm: float = 3.81
    nodes: dict = field(default_factory=dict)
    lines: list = field(default_factory=list)
    cakes: list = field(default_factory=list)
    lots: list = field(default_factory=list)

    def item(self, name, unit="g"):
        return self._node(name, unit=unit, kind=NodeKind.BOUGHT)

    def part(self, name, *, whole, yields, unit="g", keeps_days=1):
        return self._node(
            name,
            unit=unit,
            kind=NodeKind.PART,
            whole=whole,
            part_yields=yields,
            keeps_days=keeps_days,
        )

    def recipe(self, name, lines, *, yields=1.0, unit="g", **terms):
        """Lines are an amount of each component, or (amount, yield fraction)."""
        self._node(name, unit=unit, kind=NodeKind.MADE, yields=yields, **terms)
        for component, line in lines.items():
            amount, kept = line if isinstance(line, tuple) else (line, 1.0)
            self.lines.append((name, component, amount, kept, Scale.CAKE))
        return self

    def cake(self, name, lines, **terms):
        """Lines are an amount of each component, or (amount, what it scales with)."""
        self._node(name, unit="each", kind=NodeKind.CAKE, yields=1.0, **terms)
        for component, line in lines.items():
            amount, scale = line if isinstance(line, tuple) else (line, Scale.CAKE)
            self.lines.append((name, component, amount, 1.0, scale))
        return self

    def plan(self, reference, cake, due_on, quantity=1.0, *, size="", tentative=False):
        self.cakes.append((reference, due_on, cake, size, quantity, tentative))
        return self

    def stock(self, name, amount, use_by=None):
        self.lots.append((name, amount, use_by))
        return self

    def index(self, name):
        return list(self.nodes).index(name)

    def build(self):
        place = {name: number for number, name in enumerate(self.nodes)}
        rows = list(self.nodes.values())
        return Kitchen(
            bakery=BakeryTerms(
                zone_key="UTC",
                currency="USD",
                closed_weekdays=self.closed_weekdays,
                closed_on=self.closed_on,
                layer_height_cm=self.layer_height_cm,
            ),
            nodes=self._nodes(place, rows),
            lines=Lines(
                recipe=ints([place[line[0]] for line in self.lines]),
                component=ints([place[line[1]] for line in self.lines]),
                quantity_base=floats([line[2] for line in self.lines]),
                yield_fraction=floats([line[3] for line in self.lines]),
                scale=ints([line[4] for line in self.lines]),
            ),
            cakes=PlannedCakes(
                references=[row[0] for row in self.cakes],
                due_on=[row[1] for row in self.cakes],
                cake=ints([place[row[2]] for row in self.cakes]),
                sizes=[row[3] for row in self.cakes],
                quantity=floats([row[4] for row in self.cakes]),
                tentative=np.array([row[5] for row in self.cakes], dtype=np.bool_),
            ),
            lots=StockLots(
                node=ints([place[lot[0]] for lot in self.lots]),
                amount_base=floats([lot[1] for lot in self.lots]),
                use_by=[lot[2] for lot in self.lots],
            ),
            open_orders=OpenOrderLines([], ints([]), ints([]), floats([]), []),
        )

    def _node(self, name, **terms):
        self.nodes[name] = terms
        return self

    @staticmethod
    def _nodes(place, rows):
        count = len(rows)
        whole = [place.get(row.get("whole"), NO_NODE) for row in rows]
        return Nodes(
            ids=list(range(1, count + 1)),
            names=list(place),
            units=[row["unit"] for row in rows],
            kind=ints([row["kind"] for row in rows]),
            retired=np.zeros(count, dtype=np.bool_),
            safety_base=np.zeros(count),
            par_base=np.zeros(count),
            keeps_days=ints([row.get("keeps_days", NO_LIMIT_DAYS) for row in rows]),
            whole=ints(whole),
            part_yields_base=floats([row.get("part_yields", 0) for row in rows]),
            yield_base=floats([row.get("yields", 0) for row in rows]),
            batch_step=floats([row.get("batch_step", 0) for row in rows]),
            loss_fraction=floats([row.get("loss", 0) for row in rows]),
            lead_days=ints([row.get("lead_days", 0) for row in rows]),
            base_size=[row.get("base_size", "") for row in rows],
            largest_batch=floats([row.get("largest_batch", 0) for row in rows]),
            caps_use_by=np.array(
                [row.get("caps_use_by", False) for row in rows], dtype=np.bool_
            ),
        )


def ints(values):
    return np.array(values, dtype=np.int64)


def floats(values):
    return np.array(values, dtype=np.float64)


def demand_of(kitchen, explosion):
    """Return demand as {name: {day number: amount}}."""
    demand = explosion.demand
    found = {}
    for node, ordinal, amount in zip(
        demand.node.tolist(),
        demand.day.tolist(),
        demand.amount_base.tolist(),
        strict=True,
    ):
        days = found.setdefault(kitchen.nodes.names[node], {})
        days[ordinal - MONDAY.toordinal()] = amount
    return found


def making_of(kitchen, explosion):
    """Return making as {name: {day number: amount}}."""
    found = {}
    for row in explosion.making:
        days = found.setdefault(kitchen.nodes.names[row.node], {})
        days[(row.on - MONDAY).days] = row.amount_base
    return found
