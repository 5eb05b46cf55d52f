"""The parts that an amount is said in, each with what it comes to.

Exact and short wordings are both put together from these.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.item_units import OwnWord
from stock.measures.reading.quantity import parse_quantity
from stock.measures.reading.systems import (
    CUSTOMARY_WORDS,
    METRIC_WORDS,
    System,
    speaks_in_dozens,
    system_of,
)
from stock.measures.reading.terms import finite_decimal, format_number
from stock.measures.resolution import (
    LEDGER_PLACES,
    LEDGER_STEP,
    Amount,
    round_half_up,
)
from stock.measures.units import UNIT_BY_WORD, UNITS, Measure, Unit, plural, word_key

__all__ = ["CUSTOMARY_WORDS", "System", "speaks_in_dozens", "system_of"]


METRIC_UNITS = {
    Measure.MASS: ("kg", "g"),
    Measure.VOLUME: ("L", "mL"),
    Measure.COUNT: ("each",),
}
# Only a word of the item's own above this is counted in: 9 sticks are 2 lb 4 oz,
# and 24 scoops of a pound are 24 lb.
EVERYDAY_UNIT = {Measure.MASS: "lb", Measure.VOLUME: "quart", Measure.COUNT: "dozen"}
# Nobody counts more of anything one by one; larger amounts are said in other units.
MOST_PACKS = 100_000
# More places than the ledger keeps of a gram, said in kilograms.
MOST_DECIMALS = 9


@dataclass(frozen=True, slots=True)
class SaidPart:
    """One part of a saying: what is said, and what it comes to."""

    text: str
    amount_base: Fraction


def said(number: Fraction, word: str, per_unit_base: Fraction) -> SaidPart:
    """Return so many of a word as a part of a saying."""
    return SaidPart(said_words(number, word), number * per_unit_base)


def said_words(number: Fraction, word: str) -> str:
    """Return so many of a word, in the singular up to one: `1/2 case`, `2 cases`."""
    return f"{format_number(number)} {word if number <= 1 else plural(word)}"


def joined(packs: list[SaidPart], rest: Sequence[SaidPart] = ()) -> str:
    """Return packs and what is loose beside them: `2 cases + 6 lb 4 oz`."""
    loose = " ".join(part.text for part in rest)
    return " + ".join([*(part.text for part in packs), *([loose] if loose else [])])


def not_negative(amount_base: Amount) -> Fraction:
    """Return an amount at the ledger's resolution; below 0 it cannot be said."""
    target_base = round_half_up(amount_base, LEDGER_PLACES)
    if target_base < 0:
        raise ValueError(f"amount_base must not be negative, not {amount_base}")
    return target_base


def counting_words(converter: Converter) -> list[OwnWord]:
    """Return the words that people count the item in, largest first."""
    everyday_base = UNITS[EVERYDAY_UNIT[converter.measure]].per_unit_base
    return [
        own
        for own in converter.own_words
        if own.holds_base > everyday_base
        or (own.is_pack and own.holds_base >= LEDGER_STEP)
    ]


def in_metric(amount_base: Fraction, measure: Measure) -> Iterator[SaidPart]:
    """Yield an amount in metric units or each, place after place nearer to it."""
    unit = _metric_unit(amount_base, measure)
    exact = amount_base / unit.per_unit_base
    for places in range(MOST_DECIMALS + 1):
        number = round_half_up(exact, places)
        if number:
            text = f"{finite_decimal(number)} {unit.word}"
            yield SaidPart(text, number * unit.per_unit_base)


def shortest_metric(
    amount_base: Fraction, measure: Measure, *, off_base_allowed: Fraction
) -> str:
    """Return an amount in metric units or each, in the fewest places that will do."""
    unit = _metric_unit(amount_base, measure)
    return shortest_of(
        amount_base, unit.word, unit.per_unit_base, off_base_allowed=off_base_allowed
    )


def shortest_of(
    amount_base: Fraction,
    word: str,
    per_unit_base: Fraction,
    *,
    off_base_allowed: Fraction,
) -> str:
    """Return an amount as decimals of one unit, in the fewest places that will do."""
    # Whole numbers all through: most amounts on a page are said by this.
    top, bottom = (amount_base / per_unit_base).as_integer_ratio()
    allowed, parts = (off_base_allowed / per_unit_base).as_integer_ratio()
    for places in range(MOST_DECIMALS + 1):
        scale = 10**places
        digits = (2 * top * scale + bottom) // (2 * bottom)
        off = abs(top * scale - digits * bottom)
        if digits and off * parts <= allowed * bottom * scale:
            number = Fraction(digits, scale)
            return f"{finite_decimal(number)} {word if number <= 1 else plural(word)}"
    raise AssertionError("decimals reach the ledger's resolution")


def _metric_unit(amount_base: Fraction, measure: Measure) -> Unit:
    # A kilogram less than the ledger's step is still said as a kilogram.
    size_base = amount_base + LEDGER_STEP
    units = [UNITS[word] for word in METRIC_UNITS[measure]]
    fitting = (unit for unit in units if unit.per_unit_base <= size_base)
    return next(fitting, units[-1])


def system_in(text: str) -> System | None:
    """Return the units that a quantity is written in; None if it cannot be told.

    >>> system_in("2 lb 14 oz"), system_in("1.2 kg"), system_in("3 each")
    (<System.CUSTOMARY: 'customary'>, <System.METRIC: 'metric'>, None)
    """
    try:
        words = {word_key(term.unit) for term in parse_quantity(text).terms}
    except MeasureError:
        return None
    units = {unit.word for word in words if (unit := UNIT_BY_WORD.get(word))}
    if units & CUSTOMARY_WORDS:
        return System.CUSTOMARY
    return System.METRIC if units & METRIC_WORDS else None
