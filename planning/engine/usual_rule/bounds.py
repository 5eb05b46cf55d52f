"""How far from the best a set of orders can be: a bound that needs no optimiser.

The bound takes each item alone and asks for the least that any orders could cost that
keep its par at the end: no delivery fees, no minimums, parts of packs, the lowest price
of any break on every gram, nothing going out of date, and every gram left over worth as
much as it could ever be. It is below the cost of every such plan, usually by far. Where
no delivery can bring an item that is in date on the last day, nothing has to be bought.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from planning.engine.costing import best_price_per_base
from planning.engine.kitchen import FloatColumn, Kitchen, PackTerms, Window
from planning.engine.par_days import ParTargets
from planning.engine.plan import ShortfallKind
from planning.engine.shelves.leftovers import (
    MOST_DAYS_AHEAD,
    daily_use_base,
    never_expiring_balance_base,
    useful_leftover_base,
)
from planning.engine.shelves.supplies import ShelfRows, Supplies
from planning.engine.shortfalls.remedies import DatedShortfall, Market
from stock.wording.money_words import CENT

HALF_CENT = CENT / 2


@dataclass(frozen=True)
class Reckoning:
    """What the cost of orders is reckoned from; rows as on the shelf."""

    kitchen: Kitchen
    window: Window
    shelf: ShelfRows  # without suggested orders
    used_base: npt.NDArray[np.float64]
    market: Market
    par: ParTargets

    def worth_left_over(self, supplies: Supplies) -> float:
        """Return what is left over of all items is worth, in money."""
        useful_base = useful_leftover_base(supplies, self.used_base, self._par_base())
        worth = sum(
            price * useful
            for price, useful in zip(
                self._price_by_node.values(), useful_base.tolist(), strict=True
            )
        )
        return float(worth * self.kitchen.bakery.leftover_worth)

    def least_cost(self) -> float:
        """Return a cost that no orders keeping par at the end can go below."""
        nodes = list(self.shelf.nodes)
        least_base = np.maximum(self.par.least_base[nodes, -1], 0.0)
        par_base = self._par_base()
        balance_base = never_expiring_balance_base(self.shelf.supplies, self.used_base)
        most_useful_base = MOST_DAYS_AHEAD * daily_use_base(self.used_base, par_base)
        return float(
            sum(
                self._least_item_cost(
                    node,
                    need_base=max(least - balance, 0.0),
                    spare_base=balance - par,
                    most_useful_base=most_useful,
                )
                for node, par, least, balance, most_useful in zip(
                    nodes,
                    par_base.tolist(),
                    least_base.tolist(),
                    balance_base.tolist(),
                    most_useful_base.tolist(),
                    strict=True,
                )
            )
        )

    def _least_item_cost(
        self, node: int, *, need_base: float, spare_base: float, most_useful_base: float
    ) -> float:
        packs = self.market.packs(node)
        if not packs:
            return 0.0
        worth = self._price_by_node[node] * self.kitchen.bakery.leftover_worth
        price = _least_price_per_base(packs, self.window)
        lack = DatedShortfall(node, ShortfallKind.BELOW_PAR, self.window.to_on)
        least_base = need_base if self.market.has_remedy(lack) else 0.0

        def cost(bought_base: float) -> float:
            left_base = max(0.0, spare_base + bought_base)
            return price * bought_base - worth * min(left_base, most_useful_base)

        # More costs more until some is left over, then changes evenly as long as what
        # is left over is useful: the least is at either end.
        most_base = max(least_base, most_useful_base - spare_base)
        return min(cost(least_base), cost(most_base))

    def _par_base(self) -> FloatColumn:
        return self.kitchen.nodes.par_base[list(self.shelf.nodes)]

    @cached_property
    def _price_by_node(self) -> dict[int, float]:
        """The best price of each item's base unit, by row; 0 where nobody sells it."""
        return {
            node: float(best_price_per_base(self.market.packs(node), self.window) or 0)
            for node in self.shelf.nodes
        }


def _least_price_per_base(packs: Sequence[PackTerms], window: Window) -> float:
    """Return the lowest price of a base unit, less what rounding a line can save."""
    return min(
        max(
            0.0,
            float(price - (0 if price == price.quantize(CENT) else HALF_CENT)),
        )
        / pack.size_base
        for pack in packs
        for price in pack.prices(window.from_on, window.to_on)
    )
