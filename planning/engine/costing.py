"""What packs cost: breaks, lines rounded once, goods, fees, minimums, best prices.

Money is exact Decimal and is rounded half up to the cent, once, at each line. Prices
are of one pack; a break counts the packs of one line of one delivery and then sets
the price of all of them.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from planning.engine.kitchen import Kitchen, PackTerms, SupplierTerms, Window
from stock.wording.money_words import CENT

# Of a pack: not preferred, price of a base unit, supplier, label, id.
Preference = tuple[bool, Decimal, str, str, int]

NOTHING = Decimal("0.00")

# Sums of recipe fractions carry float noise: 2.0000000001 packs is 2.
ROUND_UP_TOLERANCE_PACKS = 1e-6


@dataclass(frozen=True, slots=True)
class PackCount:
    """How many packs to buy, and what each rule added to the number."""

    packs: int
    for_need: int
    for_minimum: int
    for_multiple: int


def packs_to_buy(need_base: float, pack: PackTerms, there: int = 0) -> PackCount:
    """Return the fewest packs that cover a need and that the supplier sells.

    A supplier's minimum and multiple count only when something is bought at all, and
    then with the packs that are there: on the same delivery already.
    """
    for_need = math.ceil(need_base / pack.size_base - ROUND_UP_TOLERANCE_PACKS)
    if for_need <= 0:
        return PackCount(0, 0, 0, 0)
    sold = max(there + for_need, pack.minimum_packs)
    packs = sellable(pack, sold)
    return PackCount(packs - there, for_need, sold - there - for_need, packs - sold)


def packs_for(pack: PackTerms, amount_base: float) -> int:
    """Return how many packs hold an amount."""
    return max(1, math.ceil(amount_base / pack.size_base - ROUND_UP_TOLERANCE_PACKS))


def sellable(pack: PackTerms, packs: int) -> int:
    """Return the fewest packs that are sold and are no fewer than so many.

    >>> pack = PackTerms(1, 0, 0, "", "", "", 1.0, Decimal(1), 3, 2)
    >>> sellable(pack, 1), sellable(pack, 5)
    (4, 6)
    """
    wanted = max(packs, pack.minimum_packs)
    return -(-wanted // pack.multiple) * pack.multiple


def line_cost(pack: PackTerms, packs: int) -> Decimal:
    """Return what so many packs on one delivery cost, half up to the cent."""
    return cost_of_packs(pack.price_at(packs), packs)


def cost_of_packs(price: Decimal, packs: int) -> Decimal:
    """Return what so many packs at a price each come to, half up to the cent."""
    return (price * packs).quantize(CENT, rounding=ROUND_HALF_UP)


def goods_cost(lines: Iterable[tuple[PackTerms, int]]) -> Decimal:
    """Return the sum of rounded line costs."""
    return sum((line_cost(pack, packs) for pack, packs in lines), NOTHING)


def delivery_fee(supplier: SupplierTerms, goods: Decimal) -> Decimal:
    """Return the fee of one delivery; goods equal to the limit come free."""
    free_from = supplier.free_delivery_from
    if free_from is not None and goods >= free_from:
        return NOTHING
    return supplier.delivery_fee.quantize(CENT, rounding=ROUND_HALF_UP)


def lacking_to_minimum(supplier: SupplierTerms, goods: Decimal) -> Decimal:
    """Return by how much goods stay under the minimum order; equal reaches it."""
    return max(supplier.minimum_order - goods, NOTHING)


def price_per_base(pack: PackTerms) -> Decimal:
    """Return the price of one base unit when a single pack is bought, exact."""
    return pack.price / Decimal(repr(pack.size_base))


def pack_preference(kitchen: Kitchen, pack: PackTerms) -> Preference:
    """Return what an item's packs are sorted by, the one that is liked best first.

    Preferred, then cheapest per base unit, breaks left aside, then by supplier.
    """
    return (
        not pack.preferred,
        price_per_base(pack),
        kitchen.suppliers[pack.supplier].name.casefold(),
        pack.label.casefold(),
        pack.pack_id,
    )


def best_price_per_base(packs: Iterable[PackTerms], window: Window) -> Decimal | None:
    """Return the lowest price of one base unit over packs and their breaks.

    A next price counts once a delivery of the window can be charged it; a price that
    none can be charged any more does not. None where there is no pack.
    """
    return min(
        (
            price / Decimal(repr(pack.size_base))
            for pack in packs
            for price in pack.prices(window.from_on, window.to_on)
        ),
        default=None,
    )
