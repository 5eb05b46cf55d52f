"""Can one more cake be taken? What it would need, when, and what it would hurt.

The plan is looked at with the cake and without it. An item is newly short where, on
any day, more of it is outstanding with the cake than without. Whether an order still
saves it is asked beside the orders that the plan suggests already: often a larger line
is enough, or the line as it is. What runs short after the cake has had its own is
another matter: the cake comes from the shelves, and later cakes need the order.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from functools import cached_property

import numpy as np

from planning.engine.costing import NOTHING, best_price_per_base
from planning.engine.deliveries import PossibleDelivery
from planning.engine.demand.explosion import Explosion
from planning.engine.kitchen import BoolColumn, FloatColumn, Window
from planning.engine.plan import Projection, SuggestedOrder
from planning.engine.scenarios.added_orders import ItemOrders, MoreOrder
from planning.engine.scenarios.more_orders import OrderBook
from planning.engine.scenarios.one_more import (
    CakeEffect,
    LateMaking,
    OneMore,
    add_one_more,
)
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.shelves.supplies import read_shelf
from planning.engine.shortfalls.remedies import Market
from stock.wording.money_words import CENT


class PromiseAnswer(StrEnum):
    """The three answers."""

    FROM_THE_SHELVES = "from_the_shelves"
    IF_ORDERED = "if_ordered"
    NO = "no"


class Cause(StrEnum):
    """Why a cake cannot be taken."""

    TOO_LATE = "too_late"  # for any delivery
    NOT_SOLD = "not_sold"  # by any supplier
    MADE_TOO_LATE = "made_too_late"  # it should have been made already


@dataclass(frozen=True, slots=True)
class Block:
    """One reason for a no: this, on this day."""

    node: int
    on: date
    cause: Cause
    short_base: float = 0.0  # that nothing brings that day; 0 where time is missing
    days_late: int = 0
    cakes: tuple[str, ...] = ()  # planned ones that lack it that day


@dataclass(frozen=True, slots=True)
class MoreShort:
    """An item that the cake makes short, or shorter, of stock and open orders."""

    node: int
    first_on: date  # the first day on which more is outstanding than without it
    more_base: float
    short_base: float  # the most that is outstanding with the cake
    cakes: tuple[str, ...]  # others that lack it, and did not without the cake
    serves_by: date | None  # the cake's last use of it, if it is short by then
    was_short: bool  # on that first day without the cake as well


@dataclass(frozen=True, slots=True)
class BelowSafety:
    """An item that the cake takes below safety, or further below it."""

    node: int
    first_on: date
    gap_base: float  # the largest, with the cake
    more_base: float
    is_made_good: bool  # by the orders that are suggested, with what the cake adds


@dataclass(frozen=True, slots=True)
class IngredientCost:
    """What the cake takes more of an item, at the item's best price."""

    node: int
    more_base: float
    cost: Decimal  # exact: only the sum of all is rounded


@dataclass(frozen=True)
class Promise:
    """The answer, with all that is behind it."""

    one_more: OneMore
    effect: CakeEffect
    blocks: tuple[Block, ...]
    shorts: tuple[MoreShort, ...]
    below_safety: tuple[BelowSafety, ...]
    orders: tuple[MoreOrder, ...]  # what has to be ordered, by the moment up to which
    ingredients: tuple[IngredientCost, ...]  # of what somebody sells
    without_price: tuple[int, ...]  # nodes that it takes and nobody sells

    @property
    def ingredients_cost(self) -> Decimal:
        """What the cake takes more in money, at each item's best price."""
        cost = sum((row.cost for row in self.ingredients), NOTHING)
        return cost.quantize(CENT, rounding=ROUND_HALF_UP)

    @property
    def answer(self) -> PromiseAnswer:
        """Yes, yes if ordered, or no."""
        if self.blocks:
            return PromiseAnswer.NO
        return (
            PromiseAnswer.IF_ORDERED
            if self.own_orders
            else PromiseAnswer.FROM_THE_SHELVES
        )

    @property
    def order_by(self) -> datetime | None:
        """The moment up to which something has to be ordered, if anything has.

        For the cake itself; where the shelves are enough for it, for the later ones.
        """
        orders = self.own_orders or self.later_orders
        return orders[0].delivery.order_by if orders and not self.blocks else None

    @cached_property
    def own_orders(self) -> tuple[MoreOrder, ...]:
        """Those that the cake itself cannot do without."""
        if all(short.serves_by is None for short in self.shorts):
            return ()
        return tuple(order for order in self.orders if order.is_for_cake) or self.orders

    @cached_property
    def later_orders(self) -> tuple[MoreOrder, ...]:
        """Those that only later cakes need, because of what the cake takes."""
        return tuple(order for order in self.orders if order not in self.own_orders)

    @cached_property
    def hurt_cakes(self) -> tuple[str, ...]:
        """References of planned cakes that go short because of it, sorted.

        Those that lack the same without it are none of its doing.
        """
        return tuple(sorted({cake for short in self.shorts for cake in short.cakes}))

    @cached_property
    def lost_cakes(self) -> tuple[str, ...]:
        """References of those that lack what nothing can bring any more, sorted."""
        blocked = {block.node for block in self.blocks}
        lacking = (short for short in self.shorts if short.node in blocked)
        return tuple(sorted({cake for short in lacking for cake in short.cakes}))

    @cached_property
    def unordered_cakes(self) -> tuple[str, ...]:
        """References of those that go short only if nothing is ordered, sorted."""
        return tuple(sorted(set(self.hurt_cakes).difference(self.lost_cakes)))

    @cached_property
    def worse_cakes(self) -> tuple[str, ...]:
        """References of planned cakes that lack something anyway, sorted.

        With the cake they lack more of it, and nothing brings that.
        """
        lacking = {cake for block in self.blocks for cake in block.cakes}
        return tuple(sorted(lacking.difference(self.hurt_cakes)))

    @cached_property
    def all_hurt_cakes(self) -> tuple[str, ...]:
        """References of planned cakes that lack more because of it, sorted."""
        return tuple(sorted({*self.hurt_cakes, *self.worse_cakes}))


class Promiser:
    """Answers for one plan; what is asked for twice is worked out twice."""

    def __init__(
        self,
        explosion: Explosion,
        window: Window,
        deliveries: Sequence[PossibleDelivery],
        orders: Sequence[SuggestedOrder],
        planned_to: date | None = None,
    ) -> None:
        """Take a plan; its orders may end on an earlier day than the plan does."""
        kitchen = explosion.prepared.kitchen
        self._explosion = explosion
        self._window = window
        self._shelf = read_shelf(kitchen, window)
        self._market = Market(kitchen, deliveries)
        self._book = OrderBook(
            kitchen, window, self._market, orders, planned_to or window.to_on
        )

    def ask(self, one_more: OneMore) -> Promise:
        """Return whether a cake can be taken."""
        effect = add_one_more(self._explosion, self._window, self._shelf, one_more)
        before, after = effect.before(), effect.after()
        shorts = list(_shorts(effect, before, after, one_more.due_on))
        found = [
            self._book.orders_for(
                effect.only(short.node),
                short.first_on,
                short.serves_by,
                was_short=short.was_short,
            )
            for short in shorts
        ]
        blocks = [
            *_late_blocks(effect.late, self._window),
            *self._blocks(effect, found),
        ]
        return Promise(
            one_more=one_more,
            effect=effect,
            blocks=tuple(blocks),
            shorts=tuple(shorts),
            below_safety=tuple(self._below_safety(effect, before, after, found)),
            orders=self._book.together(found),
            ingredients=tuple(self._costs(effect)),
            without_price=tuple(
                node for node in effect.nodes if not self._market.packs(node)
            ),
        )

    def _blocks(
        self, effect: CakeEffect, found: Iterable[ItemOrders]
    ) -> Iterable[Block]:
        for item in found:
            if item.lacking_on is None:
                continue
            is_sold = bool(self._market.packs(item.node))
            cause = Cause.TOO_LATE if is_sold else Cause.NOT_SOLD
            yield Block(
                node=item.node,
                on=item.lacking_on,
                cause=cause,
                short_base=item.lacking_base,
                cakes=effect.cakes_behind(item.node, [item.lacking_on]),
            )

    def _below_safety(
        self,
        effect: CakeEffect,
        before: Projection,
        after: Projection,
        found: Iterable[ItemOrders],
    ) -> Iterable[BelowSafety]:
        safety_base = effect.kitchen.nodes.safety_base[list(effect.nodes)][:, None]
        was_base = np.maximum(safety_base - before.closing_base, 0.0)
        gap_base = np.maximum(safety_base - after.closing_base, 0.0)
        added = {item.node: item for item in found}
        out = _is_more(before.outstanding_base, after.outstanding_base).any(axis=1)
        is_lower = _is_more(was_base, gap_base) & (safety_base > 0)
        for row in np.flatnonzero(is_lower.any(axis=1) & ~out).tolist():
            node = effect.nodes[row]
            days = np.flatnonzero(is_lower[row])
            yield BelowSafety(
                node=node,
                first_on=after.days[int(days[0])],
                gap_base=float(gap_base[row, days].max()),
                more_base=float((gap_base - was_base)[row, days].max()),
                is_made_good=self._book.keeps_safety(
                    effect.only(node), added.get(node), float(safety_base[row, 0])
                ),
            )

    def _costs(self, effect: CakeEffect) -> Iterable[IngredientCost]:
        for node, more_base in zip(
            effect.nodes, effect.extra_base.tolist(), strict=True
        ):
            price = best_price_per_base(self._market.packs(node), self._window)
            if price is not None:
                cost = price * Decimal(repr(more_base))
                yield IngredientCost(node, more_base, cost)


def _shorts(
    effect: CakeEffect, before: Projection, after: Projection, due_on: date
) -> Iterable[MoreShort]:
    is_more = _is_more(before.outstanding_base, after.outstanding_base)
    for row in np.flatnonzero(is_more.any(axis=1)).tolist():
        node = effect.nodes[row]
        more_base = after.outstanding_base[row] - before.outstanding_base[row]
        was_short = before.outstanding_base[row] >= LEAST_LACK_BASE
        days, new_days = (
            [after.days[day] for day in np.flatnonzero(is_meant).tolist()]
            for is_meant in (is_more[row], is_more[row] & ~was_short)
        )
        last_use_on = effect.last_use_on(node, due_on)
        is_own = last_use_on is not None and days[0] <= last_use_on
        yield MoreShort(
            node=node,
            first_on=days[0],
            more_base=float(more_base.max()),
            short_base=float(after.outstanding_base[row].max()),
            cakes=effect.cakes_behind(node, new_days),
            serves_by=last_use_on if is_own else None,
            was_short=bool(was_short[np.argmax(is_more[row])]),
        )


def _is_more(before_base: FloatColumn, after_base: FloatColumn) -> BoolColumn:
    """Return where more is lacking than was."""
    is_more: BoolColumn = after_base - before_base >= LEAST_LACK_BASE
    return is_more


def _late_blocks(late: Iterable[LateMaking], window: Window) -> Iterable[Block]:
    for making in late:
        on = date.fromordinal(window.from_on.toordinal() - making.days_late)
        yield Block(making.node, on, Cause.MADE_TOO_LATE, days_late=making.days_late)
