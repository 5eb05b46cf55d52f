"""What to buy by the rule that buyers follow: no optimiser, one line at a time.

Each item from its preferred pack, else the cheapest by what it holds, at the last
delivery in time for its first shortfall, in whole packs, enough to keep safety and to
end at par. Where the liked pack cannot come in time, the next one that can is taken;
where none can, the first delivery that helps, so that nothing is dropped. Minimum
orders are met as `trucks` says.

The rule buys only what is itself in date when it is missing. It does not think of
buying something fresh early to spare stock that keeps longer.
"""

from collections.abc import Sequence

import numpy as np

from planning.engine.costing import NOTHING, delivery_fee, packs_to_buy
from planning.engine.deliveries import Delivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.lacks.remedies import Market
from planning.engine.lacks.shortfalls import CakesBehind, Lacks
from planning.engine.par_days import par_targets
from planning.engine.plan import (
    Demand,
    Proof,
    Purchasing,
    SuggestedLine,
    SuggestedOrder,
)
from planning.engine.shelves.projection import LEAST_LACK_BASE, shelf_days
from planning.engine.shelves.supplies import (
    ON_HAND,
    Supplies,
    bought_supplies,
    days_late_words,
    join,
    window_days,
)
from planning.engine.usual.because import Explainer, Say, Standing, plain_words
from planning.engine.usual.bounds import Reckoning
from planning.engine.usual.helpless import unhelped_words, unsold_words
from planning.engine.usual.purchases import Basket, Purchase, fill_basket
from planning.engine.usual.trucks import MinimumKeeper, Outlook, Truck, load_trucks
from planning.engine.words import capitalized, day_words, listed
from stock.money_words import money_words


def usual_rule(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[Delivery],
    say: Say | None = None,
    *,
    content: Say | None = None,
    cakes_behind: CakesBehind | None = None,
) -> Purchasing:
    """Return the orders that a buyer's usual rule comes to.

    `say` words an amount of a node as it is counted, `content` what is in its packs;
    left out, amounts are said in base units. With `cakes_behind` the cakes are named
    that need a line. The gap of the proof is against the bound of `bounds`, and so is
    an honest upper limit.
    """
    market = Market(kitchen, deliveries)
    par = par_targets(kitchen, window, deliveries)
    basket = fill_basket(kitchen, window, demand, market, par)
    keeper = MinimumKeeper(kitchen, window, _outlooks(basket))
    trucks = keeper.meet_minimums(load_trucks(basket.purchases))
    going = [truck for truck in trucks if not keeper.lacking(truck)]
    explainer = Explainer(
        kitchen,
        window,
        say or plain_words(kitchen),
        standings(basket),
        content,
        cakes_behind,
    )
    orders = _orders(going, explainer)
    reckoning = Reckoning(kitchen, window, basket.shelf, basket.used_base, market, par)
    return Purchasing(
        orders=orders,
        usual_total=sum((order.total_cost for order in orders), NOTHING),
        proof=_proof(orders, reckoning, basket, going),
        warnings=(
            *_late_warnings(kitchen, basket.purchases),
            *_lacking_warnings(basket, market),
            *(_stays_warning(kitchen, t) for t in trucks if keeper.lacking(t)),
        ),
    )


def standings(basket: Basket) -> dict[int, Standing]:
    """Return how each item stands without suggested orders, by node."""
    supplies, rows = basket.shelf.supplies, len(basket.shelf.nodes)
    is_on_hand = supplies.arrives == ON_HAND
    is_good = is_on_hand & (supplies.use_by >= 0)
    on_hand, on_order = (
        np.bincount(supplies.row[part], supplies.amount_base[part], minlength=rows)
        for part in (is_good, ~is_on_hand)
    )
    used = basket.used_base.sum(axis=0)
    expired = shelf_days(supplies, basket.used_base).expired_base.sum(axis=0)
    was_bad = is_on_hand & ~is_good
    expired -= np.bincount(
        supplies.row[was_bad], supplies.amount_base[was_bad], minlength=rows
    )
    return {
        node: Standing(*figures)
        for node, *figures in zip(
            basket.shelf.nodes,
            on_hand.tolist(),
            on_order.tolist(),
            used.tolist(),
            expired.tolist(),
            strict=True,
        )
    }


def _outlooks(basket: Basket) -> dict[int, Outlook]:
    rows = np.arange(len(basket.shelf.nodes))
    closing_base = basket.figures(rows).ends_base[-1]
    par_base = basket.kitchen.nodes.par_base[list(basket.shelf.nodes)]
    daily_base = basket.used_base.sum(axis=0) / basket.window.days
    return {
        node: Outlook(spare, daily)
        for node, spare, daily in zip(
            basket.shelf.nodes,
            (closing_base - par_base).tolist(),
            daily_base.tolist(),
            strict=True,
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
            price=line.pack.price_at(line.packs),
            line_cost=line.line_cost,
            because=explainer.sentences(line, truck),
        )
        for line in by_name
    )


def _supplies(basket: Basket, trucks: Sequence[Truck]) -> Supplies:
    bought = [
        (line.pack, line.packs, truck.delivery)
        for truck in trucks
        for line in truck.lines
    ]
    shelf = basket.shelf
    return join(
        shelf.supplies, bought_supplies(basket.kitchen, basket.window, shelf, bought)
    )


def _proof(
    orders: Sequence[SuggestedOrder],
    reckoning: Reckoning,
    basket: Basket,
    trucks: Sequence[Truck],
) -> Proof:
    if not basket.purchases:
        return Proof("proven", 0.0)  # nothing is short that a delivery could help
    paid = float(sum((order.total_cost for order in orders), NOTHING))
    if not paid:
        return Proof("best found", 0.0)
    cost = paid - reckoning.worth_left_over(_supplies(basket, trucks))
    gap = (cost - reckoning.least_cost()) / paid
    # Above 1 it would say no more than that all of it might be saved.
    return Proof("best found", min(max(0.0, gap), 1.0))


def _late_warnings(kitchen: Kitchen, purchases: Sequence[Purchase]) -> list[str]:
    return [
        f"{capitalized(kitchen.nodes.names[purchase.pack.node])}: "
        f"{purchase.lack.kind} on {day_words(purchase.lack.on)}, and no "
        f"delivery is in time: {kitchen.suppliers[purchase.pack.supplier].name} on "
        f"{day_words(purchase.delivery.deliver_on)} is "
        f"{days_late_words(purchase.late_days)}. Buy some elsewhere until then, or "
        "change the bake plan."
        for purchase in purchases
        if purchase.late_days
    ]


def _lacking_warnings(basket: Basket, market: Market) -> list[str]:
    """Return a sentence for each item that is short and of which nothing is bought."""
    rows = np.arange(len(basket.shelf.nodes))
    lacking = basket.lacks(rows)
    bought = {purchase.pack.node for purchase in basket.purchases}
    found = []
    for row in lacking.short_rows():
        node = basket.shelf.nodes[row]
        if node in bought:
            continue
        name = basket.kitchen.nodes.names[node]
        what = _lack_words(basket.window, lacking, row)
        if not market.packs(node):
            found.append(unsold_words(name, what))
        elif not _is_forgiven(lacking.most_base(row), market, node):
            found.append(unhelped_words(name, what))
    return found


def _lack_words(window: Window, lacking: Lacks, row: int) -> str:
    kind = lacking.gravest(row)
    first = int(np.argmax(lacking.by_day(kind)[row] >= LEAST_LACK_BASE))
    return f"{kind} on {day_words(window_days(window)[first])}"


def _is_forgiven(lack_base: float, market: Market, node: int) -> bool:
    """Whether a lack is so small a part of a pack that none is bought for it."""
    return all(packs_to_buy(lack_base, pack).packs == 0 for pack in market.packs(node))


def _stays_warning(kitchen: Kitchen, truck: Truck) -> str:
    supplier = kitchen.suppliers[truck.delivery.supplier]
    names = sorted({kitchen.nodes.names[line.pack.node] for line in truck.lines})
    return (
        f"{supplier.name} does not come on {day_words(truck.delivery.deliver_on)}: "
        f"{listed(names, len(names))} cannot reach the minimum order of "
        f"{money_words(supplier.minimum_order, kitchen.bakery.currency)}. Add "
        "something to the order, or buy elsewhere."
    )
