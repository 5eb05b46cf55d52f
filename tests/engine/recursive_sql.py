"""The gross explosion as one recursive SQL query, for comparison.

Every path from a planned cake down to a node is a row; days are days after the first.
"""

import sqlite3

import numpy as np

from planning.engine.demand import geometry
from planning.engine.kitchen import NodeKind

GROSS = """
WITH RECURSIVE need (node, day, amount, scaled) AS (
    SELECT cake, made_on, quantity, number FROM planned
  UNION ALL
    SELECT line.component,
           coalesce(making.made_on, need.day),
           need.amount / node.net_per_batch * line.amount
               * coalesce(factor.factor, 1.0),
           NULL
    FROM need
    JOIN node ON node.id = need.node
    JOIN line ON line.recipe = need.node
    JOIN node AS taken ON taken.id = line.component
    LEFT JOIN making ON making.lead_days = taken.lead_days
                    AND making.needed_on = need.day
                    AND taken.is_made
    LEFT JOIN factor ON factor.number = need.scaled AND factor.scale = line.scale
)
SELECT node, day, sum(amount) FROM need WHERE node IN (SELECT id FROM bought)
GROUP BY node, day
"""


def connect(kitchen, window):
    """Return a database in memory that holds what the query reads."""
    database = sqlite3.connect(":memory:")
    _make_tables(database)
    _fill_nodes(database, kitchen)
    last = max((day.toordinal() for day in kitchen.cakes.due_on), default=0)
    made_on = _fill_making(database, kitchen, window, last)
    _fill_planned(database, kitchen, window, made_on)
    return database


def gross(database):
    """Return amounts by (node, days after the first day)."""
    return {(node, day): amount for node, day, amount in database.execute(GROSS)}


def _make_tables(database):
    database.executescript(
        """
        CREATE TABLE node (id INTEGER PRIMARY KEY, net_per_batch REAL,
                           lead_days INTEGER, is_made INTEGER);
        CREATE TABLE bought (id INTEGER PRIMARY KEY);
        CREATE TABLE line (recipe INTEGER, component INTEGER, amount REAL,
                           scale INTEGER);
        CREATE INDEX line_recipe ON line (recipe);
        CREATE TABLE making (lead_days INTEGER, needed_on INTEGER, made_on INTEGER,
                             PRIMARY KEY (lead_days, needed_on));
        CREATE TABLE planned (number INTEGER, cake INTEGER, made_on INTEGER,
                              quantity REAL);
        CREATE TABLE factor (number INTEGER, scale INTEGER, factor REAL,
                             PRIMARY KEY (number, scale));
        """
    )


def _fill_nodes(database, kitchen):
    nodes, lines = kitchen.nodes, kitchen.lines
    is_cake = nodes.kind == NodeKind.CAKE
    is_made = nodes.kind == NodeKind.MADE
    batch = np.where(is_made, nodes.yield_base * (1 - nodes.loss_fraction), 1.0)
    database.executemany(
        "INSERT INTO node VALUES (?, ?, ?, ?)",
        zip(
            range(len(nodes.names)),
            batch.tolist(),
            nodes.lead_days.tolist(),
            (is_made | is_cake).tolist(),
            strict=True,
        ),
    )
    bought = np.flatnonzero(nodes.kind == NodeKind.BOUGHT).tolist()
    database.executemany("INSERT INTO bought VALUES (?)", [(node,) for node in bought])
    database.executemany(
        "INSERT INTO line VALUES (?, ?, ?, ?)",
        zip(
            lines.recipe.tolist(),
            lines.component.tolist(),
            (lines.quantity_base / lines.yield_fraction).tolist(),
            lines.scale.tolist(),
            strict=True,
        ),
    )


def _fill_making(database, kitchen, window, last_ordinal):
    """Fill in when something of each lead time is made; day by day, by the rule."""
    first, made_on = window.from_on.toordinal(), {}
    for lead in set(kitchen.nodes.lead_days.tolist()):
        for needed_on in range(max(last_ordinal - first, 0) + 1):
            day = needed_on - lead
            while day >= 0 and kitchen.bakery.is_closed(
                window.from_on.fromordinal(first + day)
            ):
                day -= 1
            made_on[lead, needed_on] = max(day, 0)
    database.executemany(
        "INSERT INTO making VALUES (?, ?, ?)",
        [(lead, needed, made) for (lead, needed), made in made_on.items()],
    )
    return made_on


def _fill_planned(database, kitchen, window, made_on):
    cakes, nodes = kitchen.cakes, kitchen.nodes
    for number, (cake, due_on) in enumerate(
        zip(cakes.cake.tolist(), cakes.due_on, strict=True)
    ):
        due = (due_on - window.from_on).days
        if due < 0 or (cakes.tentative[number] and not window.tentative):
            continue
        made = made_on[int(nodes.lead_days[cake]), due]
        database.execute(
            "INSERT INTO planned VALUES (?, ?, ?, ?)",
            (number, cake, made, float(cakes.quantity[number])),
        )
        factors = geometry.scale_factors(
            cakes.sizes[number], nodes.base_size[cake], kitchen.bakery.layer_height_cm
        )
        database.executemany(
            "INSERT INTO factor VALUES (?, ?, ?)",
            [(number, scale, factor) for scale, factor in enumerate(factors.tolist())],
        )
