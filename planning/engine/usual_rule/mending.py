"""What is still lacking once the trucks are loaded, and what is bought for it.

Meeting minimum orders moves lines and may leave a delivery at home. So the shelf is
projected once more with what really comes; what lacks is bought as before, from
deliveries that can come. Nothing is moved or taken off any more, so nothing that is
mended breaks again.
"""

from collections.abc import Sequence
from dataclasses import replace

from planning.engine.deliveries import PossibleDelivery
from planning.engine.shelves.supplies import Bought
from planning.engine.shortfalls.remedies import Market
from planning.engine.shortfalls.situations import Situation
from planning.engine.usual_rule.purchases import fill_basket
from planning.engine.usual_rule.trucks import MinimumKeeper, Truck, load_onto


def mend(
    situation: Situation,
    keeper: MinimumKeeper,
    trucks: Sequence[Truck],
    deliveries: Sequence[PossibleDelivery],
    trips: Sequence[PossibleDelivery] = (),
) -> tuple[list[Truck], list[Truck]]:
    """Return the trucks that go, by day, and those that stay below their minimum.

    With what goes nothing lacks that any delivery that can go would help. `trips` are
    the days on which somebody can go to a shop for what nobody delivers in time.
    """
    at_home = [truck for truck in trucks if not keeper.can_go(truck)]
    staying: set[PossibleDelivery] = set()
    loaded = list(trucks)
    while True:
        going = [truck for truck in loaded if keeper.can_go(truck)]
        staying |= {truck.delivery for truck in loaded if not keeper.can_go(truck)}
        basket = fill_basket(
            situation,
            Market(situation.kitchen, _without(deliveries, staying)),
            situation.with_bought(goods_of(going)),
            shops=shops_of(situation, _without(trips, staying)),
        )
        if not basket.purchases:
            return going, at_home
        loaded = load_onto(going, basket.purchases)
        keeper.fill_up(loaded)


def shops_of(situation: Situation, trips: Sequence[PossibleDelivery]) -> Market | None:
    """Return what shops sell on some days; None where there are none."""
    kitchen = situation.kitchen
    return Market(replace(kitchen, packs=kitchen.shop_packs), trips) if trips else None


def _without(
    deliveries: Sequence[PossibleDelivery], left: set[PossibleDelivery]
) -> list[PossibleDelivery]:
    return [each for each in deliveries if each not in left]


def goods_of(trucks: Sequence[Truck]) -> list[Bought]:
    """Return what trucks bring."""
    return [
        (line.pack, line.packs, truck.delivery)
        for truck in trucks
        for line in truck.lines
    ]
