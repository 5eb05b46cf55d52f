"""What to buy by the rule that buyers follow: no optimiser, one line at a time.

Each item from its preferred pack, else the cheapest by what it holds, at the last
delivery in time for its first shortfall, in whole packs, enough to keep safety and to
reach par on its next par day. Where the liked pack cannot come in time, the next one
that can is taken; where none can, the first delivery that helps, so that nothing is
dropped. Minimum orders are met as `trucks` says, and what lacks then is bought as
`trucks.mend` says: nothing stays short that any delivery could have helped.
"""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date
from decimal import Decimal

import numpy as np

from planning.engine.costing import NOTHING, delivery_fee, line_cost
from planning.engine.decided import small_orders
from planning.engine.deliveries import PossibleDelivery, possible_shop_trips
from planning.engine.kitchen import Kitchen, Window
from planning.engine.plan import (
    Demand,
    Proof,
    Purchasing,
    ShortfallKind,
    SuggestedLine,
    SuggestedOrder,
)
from planning.engine.reasons import OrderWarning
from planning.engine.shelves.projection import shelf_days
from planning.engine.shelves.supplies import ON_HAND
from planning.engine.shortfalls.after_orders import StillLacking, still_lacking
from planning.engine.shortfalls.shortfalls import CakesBehind
from planning.engine.shortfalls.situations import Situation, read_situation
from planning.engine.usual_rule.because import Explainer
from planning.engine.usual_rule.bounds import Reckoning
from planning.engine.usual_rule.line_reasons import (
    ItemStanding,
    LackingWarning,
    StaysWarning,
)
from planning.engine.usual_rule.purchases import Basket, fill_basket
from planning.engine.usual_rule.trucks import (
    ItemAtEnd,
    MinimumKeeper,
    Truck,
    decided_trucks,
    goods_of,
    load_onto,
    mend,
    shops_of,
)


def usual_rule(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    cakes_behind: CakesBehind | None = None,
) -> Purchasing:
    """Return the orders that a buyer's usual rule comes to.

    `cakes_behind` tells which cakes need an item. The gap is an upper limit.
    """
    situation = read_situation(kitchen, window, demand, deliveries)
    going, staying = _load(situation, deliveries)
    decided = [coming.bought for coming in situation.decided]
    explainer = Explainer(
        kitchen,
        window,
        standings(situation),
        situation.lacks(situation.with_bought(decided), situation.all_rows),
        situation.shelf.row_of_node,
        _lacks_on(going),
        cakes_behind,
        situation.decided,
    )
    orders = _orders(going, explainer)
    lacking = still_lacking(situation, orders)
    return Purchasing(
        orders=orders,
        usual_total=_usual_total(situation, deliveries, going, lacking),
        proof=_proof(orders, situation, going, is_whole=not staying),
        warnings=_warnings(kitchen, orders, lacking, staying),
    )


def _lacks_on(trucks: Sequence[Truck]) -> dict[int, list[date]]:
    """Return the days of the lacks that are bought for, by node, but for par."""
    found: dict[int, list[date]] = defaultdict(list)
    for purchase in (each for truck in trucks for each in truck.purchases):
        if purchase.lack.kind is not ShortfallKind.BELOW_PAR:
            found[purchase.lack.node].append(purchase.lack.on)
    return found


def _load(
    situation: Situation,
    deliveries: Sequence[PossibleDelivery],
    trips: Sequence[PossibleDelivery] = (),
) -> tuple[list[Truck], list[Truck]]:
    """Return the trucks that go, and those that stay below their minimum order."""
    shops = shops_of(situation, trips)
    decided = [coming.bought for coming in situation.decided]
    there = situation.with_bought(decided)
    basket = fill_basket(situation, situation.market, there, shops=shops)
    keeper = MinimumKeeper(situation.kitchen, situation.window, _outlooks(basket))
    loaded = load_onto(decided_trucks(situation.decided), basket.purchases)
    trucks = keeper.meet_minimums(loaded)
    return mend(situation, keeper, trucks, deliveries, trips)


def _usual_total(
    situation: Situation,
    deliveries: Sequence[PossibleDelivery],
    going: Sequence[Truck],
    lacking: Sequence[StillLacking],
) -> Decimal:
    """Return what the rule costs, with trips to shops for what nobody delivers in time.

    Shops take no part in the orders, so that the rule is asked once more with them.
    """
    kitchen = situation.kitchen
    in_shops = {pack.node for pack in kitchen.shop_packs}
    if any(each.node in in_shops for each in lacking):
        trips = possible_shop_trips(kitchen, situation.window)
        going, _ = _load(situation, deliveries, trips)
    return sum((_cost(kitchen, truck) for truck in going), NOTHING)


def _cost(kitchen: Kitchen, truck: Truck) -> Decimal:
    supplier = kitchen.suppliers[truck.delivery.supplier]
    return truck.goods_cost + delivery_fee(supplier, truck.goods_cost)


def standings(situation: Situation) -> dict[int, ItemStanding]:
    """Return how each item stands without suggested orders, by node."""
    shelf, used_base = situation.shelf, situation.used_base
    supplies, rows = shelf.supplies, len(shelf.nodes)
    is_on_hand = supplies.arrives == ON_HAND
    on_hand, on_order = (
        np.bincount(supplies.row[part], supplies.amount_base[part], minlength=rows)
        for part in (is_on_hand, ~is_on_hand)
    )
    used = used_base.sum(axis=0)
    expired = shelf_days(supplies, used_base).expired_base.sum(axis=0)
    return {
        node: ItemStanding(*figures)
        for node, *figures in zip(
            shelf.nodes,
            on_hand.tolist(),
            on_order.tolist(),
            used.tolist(),
            expired.tolist(),
            strict=True,
        )
    }


def _outlooks(basket: Basket) -> dict[int, ItemAtEnd]:
    situation = basket.situation
    nodes = list(situation.shelf.nodes)
    figures = situation.figures(basket.supplies, situation.all_rows)
    spare_base = figures.ends_base[-1] - situation.kitchen.nodes.par_base[nodes]
    daily_base = situation.used_base.sum(axis=0) / situation.window.days
    return {
        node: ItemAtEnd(spare, daily)
        for node, spare, daily in zip(
            nodes, spare_base.tolist(), daily_base.tolist(), strict=True
        )
    }


def _orders(
    trucks: Sequence[Truck], explainer: Explainer
) -> tuple[SuggestedOrder, ...]:
    """Return trucks as orders, by day, then by the supplier's name."""
    suppliers = explainer.kitchen.suppliers
    orders = [
        SuggestedOrder(
            supplier=truck.delivery.supplier,
            order_by=truck.delivery.order_by,
            deliver_on=truck.delivery.deliver_on,
            lines=_lines(truck, explainer),
            goods_cost=truck.goods_cost,
            fee=delivery_fee(suppliers[truck.delivery.supplier], truck.goods_cost),
        )
        for truck in trucks
    ]
    return tuple(
        sorted(
            orders,
            key=lambda order: (
                order.deliver_on,
                suppliers[order.supplier].name.casefold(),
            ),
        )
    )


def _lines(truck: Truck, explainer: Explainer) -> tuple[SuggestedLine, ...]:
    names = explainer.kitchen.nodes.names
    by_name = sorted(
        truck.lines,
        key=lambda line: (names[line.pack.node].casefold(), line.pack.label),
    )
    return tuple(
        SuggestedLine(
            pack=line.pack,
            packs=line.packs,
            price=truck.charged(line).price_at(line.packs),
            line_cost=line_cost(truck.charged(line), line.packs),
            because=explainer.reasons(line, truck),
        )
        for line in by_name
    )


def _proof(
    orders: Sequence[SuggestedOrder],
    situation: Situation,
    going: Sequence[Truck],
    *,
    is_whole: bool,
) -> Proof:
    if not going and is_whole:
        # Nothing is short that a delivery could help.
        return Proof("proven", 0.0)
    paid = float(sum((order.total_cost for order in orders), NOTHING))
    if not paid:
        return Proof("best found", 0.0)
    reckoning = Reckoning(
        situation.kitchen,
        situation.window,
        situation.shelf,
        situation.used_base,
        situation.market,
        situation.par,
    )
    bought = situation.with_bought(goods_of(going))
    cost = paid - reckoning.worth_left_over(bought)
    gap = (cost - reckoning.least_cost()) / paid
    # Above 1 it would say no more than that all of it might be saved.
    return Proof("best found", min(max(0.0, gap), 1.0))


def _warnings(
    kitchen: Kitchen,
    orders: Sequence[SuggestedOrder],
    lacking: Sequence[StillLacking],
    staying: Sequence[Truck],
) -> tuple[OrderWarning, ...]:
    """Return what lacks, which trucks stay below their minimum, and small orders.

    What such a truck would have brought is told of the truck alone.
    """
    missed = {each.node for each in lacking}
    too_small = {line.pack.node for truck in staying for line in truck.lines}
    return (
        *(LackingWarning(each) for each in lacking if each.node not in too_small),
        *(
            _stays_warning(kitchen, truck)
            for truck in staying
            if any(line.pack.node in missed for line in truck.lines)
        ),
        *small_orders(kitchen, orders),
    )


def _stays_warning(kitchen: Kitchen, truck: Truck) -> StaysWarning:
    names = kitchen.nodes.names
    nodes = sorted({line.pack.node for line in truck.lines}, key=names.__getitem__)
    delivery = truck.delivery
    return StaysWarning(delivery.supplier, delivery.deliver_on, tuple(nodes))
