"""The parts that an amount is said in, each with what it comes to.

Exact and short wordings are both put together from these.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from stock.measures.conversion import Converter, OwnWord
from stock.measures.quantity import finite_decimal, format_number
from stock.measures.resolution import (
    LEDGER_PLACES,
    LEDGER_STEP,
    Amount,
    round_half_up,
)
from stock.measures.units import UNIT_BY_WORD, UNITS, Measure, plural, word_key


class System(StrEnum):
    """Which units a person would rather hear."""

    CUSTOMARY = "customary"
    METRIC = "metric"


METRIC_UNITS = {
    Measure.MASS: ("kg", "g"),
    Measure.VOLUME: ("L", "mL"),
    Measure.COUNT: ("each",),
}
CUSTOMARY_WORDS = frozenset(
    ["oz", "lb", "tsp", "tbsp", "fl oz", "cup", "pint", "quart", "gallon"]
)
# Only a word of the item's own above this is counted in: 9 sticks are 2 lb + 4 oz,
# and 24 scoops of a pound are 24 lb.
EVERYDAY_UNIT = {Measure.MASS: "lb", Measure.VOLUME: "quart", Measure.COUNT: "dozen"}
# Nobody counts more of anything one by one; larger amounts are said in other units.
MOST_PACKS = 100_000
# More places than the ledger keeps of a gram, said in kilograms.
MOST_DECIMALS = 9


@dataclass(frozen=True, slots=True)
class Said:
    """One part of a saying: what is said, and what it comes to."""

    text: str
    amount_base: Fraction


def said(number: Fraction, word: str, per_unit_base: Fraction) -> Said:
    """Return so many of a word as a part of a saying."""
    shown = word if number <= 1 else plural(word)
    return Said(f"{format_number(number)} {shown}", number * per_unit_base)


def joined(parts: list[Said]) -> str:
    """Return parts as one saying: `2 cases + 6 lb`."""
    return " + ".join(part.text for part in parts)


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


def in_metric(amount_base: Fraction, measure: Measure) -> Iterator[Said]:
    """Yield an amount in metric units or each, place after place nearer to it."""
    words = METRIC_UNITS[measure]
    # A kilogram less than the ledger's step is still said as a kilogram.
    size_base = amount_base + LEDGER_STEP
    fitting = [word for word in words if UNITS[word].per_unit_base <= size_base]
    word = (fitting or words[-1:])[0]
    unit_base = UNITS[word].per_unit_base
    for places in range(MOST_DECIMALS + 1):
        number = round_half_up(amount_base / unit_base, places)
        if number:
            yield Said(f"{finite_decimal(number)} {word}", number * unit_base)


def speaks_in_dozens(converter: Converter) -> bool:
    """Whether the item's packs or own words are given in dozens."""
    return _speaks_of(converter, frozenset(["dozen"]))


def system_of(converter: Converter) -> System:
    """Return the units that the item's packs and own words are given in."""
    in_customary = _speaks_of(converter, CUSTOMARY_WORDS)
    return System.CUSTOMARY if in_customary else System.METRIC


def _speaks_of(converter: Converter, words: frozenset[str]) -> bool:
    return any(
        unit.word in words
        for own in converter.own_words
        for term in own.holds.terms
        if (unit := UNIT_BY_WORD.get(word_key(term.unit)))
    )
