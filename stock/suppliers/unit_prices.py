"""What a pack's price comes to for one unit that people compare by: $3.30 a lb."""

from dataclasses import dataclass
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

from stock.measures.units import UNITS, Measure
from stock.models import Pack
from stock.wording.money_words import CENT, PRICE_STEP

# The unit by which each measure's prices are compared. Our choice.
COMPARED_BY = {Measure.MASS: "lb", Measure.VOLUME: "quart", Measure.COUNT: "each"}


@dataclass(frozen=True, slots=True)
class UnitPrice:
    """A price for one unit; to the cent from a whole unit of money on."""

    price: Decimal
    unit: str


def unit_price(pack: Pack, on: date) -> UnitPrice:
    """Return what one lb, quart or each costs in this pack on a day, without breaks.

    The pack's item must be loaded. No query.
    """
    unit = COMPARED_BY[Measure(pack.item.measure)]
    units = Fraction(pack.size_base) / UNITS[unit].per_unit_base
    exact = Fraction(pack.price_on(on)) / units
    price = Decimal(exact.numerator) / Decimal(exact.denominator)
    step = CENT if price >= 1 else PRICE_STEP
    return UnitPrice(price.quantize(step, rounding=ROUND_HALF_UP), unit)
