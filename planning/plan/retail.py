"""How much to buy in a shop: an amount rounded up to what is sold there.

The steps are common practice in shops of the United States, no source; where an
item's words are metric, round metric amounts. Above the largest step, whole ones of it.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from stock.measures.conversion import Converter
from stock.measures.reading.sayings import System, speaks_in_dozens, system_of
from stock.measures.units import UNITS, Measure, plural

# Amounts of each size that a shop sells, the smallest first; all our choice.
SOLD_IN_SHOPS: dict[tuple[Measure, System], tuple[tuple[int, str], ...]] = {
    (Measure.MASS, System.CUSTOMARY): ((1, "oz"), (4, "oz"), (8, "oz"), (1, "lb")),
    (Measure.MASS, System.METRIC): ((50, "g"), (100, "g"), (250, "g"), (500, "g")),
    (Measure.VOLUME, System.CUSTOMARY): (
        *((1, "fl oz"), (2, "fl oz"), (4, "fl oz")),
        *((1, "cup"), (1, "pint"), (1, "quart")),
    ),
    (Measure.VOLUME, System.METRIC): (
        *((50, "mL"), (100, "mL"), (250, "mL"), (500, "mL"), (1, "L")),
    ),
}
# Sums of recipe fractions carry noise: 1.0000000001 lb are 1 lb.
ROUND_UP_TOLERANCE = Fraction(1, 10**6)


@dataclass(frozen=True, slots=True)
class Retail:
    """What to ask for in a shop, and what that comes to."""

    words: str
    amount_base: Fraction
    unit: str  # in the singular; of pieces blank


def to_buy(needed_base: float, converter: Converter) -> Retail:
    """Return how much to buy of an item in a shop, at least what is needed."""
    steps = _steps(converter)
    needed = Fraction(needed_base)
    for number, word, unit_base in steps:
        if needed <= number * unit_base * (1 + ROUND_UP_TOLERANCE):
            return _retail(number, word, unit_base)
    number, word, unit_base = steps[-1]
    times = ceil(needed / (number * unit_base) - ROUND_UP_TOLERANCE)
    return _retail(times * number, word, unit_base)


def _retail(number: int, word: str, unit_base: Fraction) -> Retail:
    """Return so many of a word; of pieces the number alone: their name follows."""
    unit = "" if word == "each" else word
    said = unit and f" {unit if number == 1 else plural(unit)}"
    return Retail(f"{number:,}{said}", number * unit_base, unit)


def _steps(converter: Converter) -> list[tuple[int, str, Fraction]]:
    if converter.measure is Measure.COUNT:
        if speaks_in_dozens(converter):
            return [(1, "dozen", Fraction(12))]
        # A ribbon's yard is what the ledger calls each.
        own = (own.word for own in converter.own_words if own.holds_base == 1)
        return [(1, next(own, "each"), Fraction(1))]
    return [
        (number, unit, UNITS[unit].per_unit_base)
        for number, unit in SOLD_IN_SHOPS[converter.measure, system_of(converter)]
    ]
