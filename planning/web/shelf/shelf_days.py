"""An item's days as the shelf line shows them: plain values, no queries.

Amounts are in the item's own base unit, shown by the suffix `_base`.

Turns a plan's projection into shelf lines, an item at a time.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property, partial

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.par_days import ParTargets, par_targets
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.plan.planner import Planned

Amount = float | Decimal


@dataclass(frozen=True, slots=True)
class ShelfDay:
    """One day of an item: what it does to the shelf, and whether that is enough."""

    on: date
    closing_base: Amount
    received_base: Amount
    used_base: Amount
    expired_base: Amount
    is_short: bool
    below_safety: bool
    is_par_day: bool = False
    below_par: bool = False  # par is asked for and not kept


@dataclass(frozen=True, slots=True)
class ShelfLine:
    """An item's days, with the levels it is held to.

    `unit_words` names the base unit (`g`). `safety_words` and `par_words` say the
    levels as people hold the item (`2 lb`), `say` any other amount of it; left out, the
    base amount is said.
    """

    item_name: str
    unit_words: str
    days: tuple[ShelfDay, ...]
    safety_base: Amount | None = None
    par_base: Amount | None = None
    safety_words: str = ""
    par_words: str = ""
    say: Callable[[float], str] | None = None


class ShelfLines:
    """The shelf lines of one plan, each drawn from its row of the projection."""

    def __init__(self, planned: Planned) -> None:
        self._planned = planned

    @cached_property
    def row_by_node(self) -> dict[int, int]:
        """The row of the projection of every item that has one."""
        nodes = self._planned.plan.projection.nodes
        return {node: row for row, node in enumerate(nodes)}

    def has(self, node: int) -> bool:
        """Whether a node has days: it is bought, and not retired."""
        return node in self.row_by_node

    def opens_base(self, node: int) -> list[float]:
        """Return what is there when each day begins, in the base unit."""
        row = self.row_by_node[node]
        return list(self._planned.plan.projection.opening_base[row].tolist())

    def lacks_base(self, node: int) -> list[float]:
        """Return what is lacking at the end of each day, in the base unit."""
        row = self.row_by_node[node]
        return list(self._planned.plan.projection.outstanding_base[row].tolist())

    def line(self, node: int) -> ShelfLine:
        """Return an item's shelf line; the node must have days."""
        row = self.row_by_node[node]
        nodes, words = self._planned.kitchen.nodes, self._planned.words
        safety_base = float(nodes.safety_base[node])
        par_base = float(nodes.par_base[node])
        return ShelfLine(
            item_name=nodes.names[node],
            unit_words=nodes.units[node],
            days=self._days(node, row),
            safety_base=safety_base or None,
            par_base=par_base or None,
            safety_words=words.content(node, safety_base) if safety_base else "",
            par_words=words.content(node, par_base) if par_base else "",
            say=partial(words.content, node),
        )

    @cached_property
    def _par(self) -> ParTargets:
        planned = self._planned
        return par_targets(planned.kitchen, planned.plan.window, planned.deliveries)

    def _days(self, node: int, row: int) -> tuple[ShelfDay, ...]:
        projection = self._planned.plan.projection
        closing_base = projection.closing_base[row]
        safety_base = float(self._planned.kitchen.nodes.safety_base[node])
        least_base = self._par.least_base[node]
        return tuple(
            ShelfDay(*figures)
            for figures in zip(
                projection.days,
                closing_base.tolist(),
                projection.received_base[row].tolist(),
                projection.used_base[row].tolist(),
                projection.expired_base[row].tolist(),
                projection.is_out[row].tolist(),
                _below(safety_base, closing_base),
                (least_base > -np.inf).tolist(),
                (least_base - closing_base >= LEAST_LACK_BASE).tolist(),
                strict=True,
            )
        )


def _below(safety_base: float, closing_base: FloatColumn) -> list[bool]:
    """Return on which days less is left than safety; on none where none is set."""
    if not safety_base:
        return [False] * len(closing_base)
    return list((safety_base - closing_base >= LEAST_LACK_BASE).tolist())
