"""From an amount in base units back to what people say: `2 cases + 6 lb`.

Packs come first, in whole numbers, largest first; words of the item's own follow
where they are larger than the kitchen's everyday unit; the rest is said in pounds and
ounces, or gallons to spoons, where that comes out in fractions that people use, else
in metric decimals. `say` is exact: what it says reads back as the same amount at the
ledger's resolution. `say_short` and `say_plain` round for display.
"""

from collections.abc import Iterator
from fractions import Fraction
from itertools import chain
from math import ceil, floor

from stock.measures.conversion import Converter
from stock.measures.reading.sayings import (
    MOST_PACKS,
    SaidPart,
    System,
    counting_words,
    in_metric,
    joined,
    not_negative,
    said,
    shortest_metric,
    speaks_in_dozens,
)
from stock.measures.resolution import (
    LEDGER_PLACES,
    LEDGER_STEP,
    Amount,
    round_half_up,
)
from stock.measures.short_wording import say_exactly, say_short
from stock.measures.units import UNITS, Measure

__all__ = ["System", "negative", "say", "say_exactly", "say_plain", "say_short"]

# The kitchen's everyday units, largest first, each with the fractions that people say
# of it: half a pound, but a third of a cup. Our choice.
LADDERS = {
    Measure.MASS: (("lb", (1, 2)), ("oz", (1, 2, 4, 8))),
    Measure.VOLUME: (
        ("gallon", (1, 2)),
        ("quart", (1,)),
        ("cup", (1, 2, 3, 4)),
        ("tbsp", (1, 2)),
        ("tsp", (1, 2, 4, 8)),
    ),
    Measure.COUNT: (("dozen", (1,)), ("each", (1, 2, 4))),
}
MOST_PACK_TERMS = 3
PLAIN_TOLERANCE = Fraction(1, 2000)


def say(
    amount_base: Amount, converter: Converter, *, prefer: System | None = None
) -> str:
    """Return the amount in words that read back as the same, to the ledger's place.

    Pounds and cups are tried before grams and millilitres, unless told otherwise.
    """
    target_base = not_negative(amount_base)
    if not target_base:
        return f"0 {converter.base_unit}"
    packs = _whole_packs(target_base, converter)
    said_base = sum((part.amount_base for part in packs), Fraction(0))
    if round_half_up(said_base, LEDGER_PLACES) == target_base:
        return joined(packs)
    rest_base = target_base - said_base
    kitchen = _in_kitchen_units(rest_base, converter, prefer or System.CUSTOMARY)
    metric = ([part] for part in in_metric(rest_base, converter.measure))
    for rest in chain(kitchen, metric):
        rest_said_base = sum(part.amount_base for part in rest)
        if round_half_up(said_base + rest_said_base, LEDGER_PLACES) == target_base:
            return joined(packs, rest)
    raise AssertionError("metric decimals reach the ledger's resolution")


def negative(words: str) -> str:
    """Return the words of an amount for as much below nothing, parts and all.

    >>> negative("2 cases + 14 oz")
    'minus 2 cases 14 oz'
    """
    return f"minus {words.replace(' + ', ' ')}"


def say_plain(amount_base: Amount, measure: Measure) -> str:
    """Return the amount in metric units or each, to about 4 digits: `2.5 kg`."""
    target_base = round_half_up(amount_base, LEDGER_PLACES)
    if not target_base:
        return f"0 {measure.base_unit}"
    size_base = abs(target_base)
    words = shortest_metric(
        size_base, measure, off_base_allowed=size_base * PLAIN_TOLERANCE
    )
    return f"-{words}" if target_base < 0 else words


def _whole_packs(target_base: Fraction, converter: Converter) -> list[SaidPart]:
    parts: list[SaidPart] = []
    # What is below this rounds to the target, not above it.
    rest_base = target_base + LEDGER_STEP / 2
    for own in counting_words(converter):
        whole = ceil(rest_base / own.holds_base) - 1
        if 1 <= whole <= MOST_PACKS and len(parts) < MOST_PACK_TERMS:
            parts.append(said(Fraction(whole), own.word, own.holds_base))
            rest_base -= parts[-1].amount_base
    return parts


def _in_kitchen_units(
    amount_base: Fraction, converter: Converter, system: System
) -> Iterator[list[SaidPart]]:
    """Yield ways to say an amount in spoons and pounds, or each, the plainest first."""
    measure = converter.measure
    if system is System.CUSTOMARY and measure is not Measure.COUNT:
        yield from _customary(amount_base, LADDERS[measure])
    elif measure is Measure.COUNT:
        ladder = LADDERS[measure]
        in_dozens = speaks_in_dozens(converter)
        yield from _customary(amount_base, ladder if in_dozens else ladder[1:])


def _customary(
    amount_base: Fraction, ladder: tuple[tuple[str, tuple[int, ...]], ...]
) -> Iterator[list[SaidPart]]:
    for place, (word, denominators) in enumerate(ladder):
        unit_base = UNITS[word].per_unit_base
        for number in _nearest_numbers(amount_base / unit_base, denominators):
            yield [said(number, word, unit_base)]
        whole = Fraction(floor(amount_base / unit_base))
        if not whole:
            continue
        first = said(whole, word, unit_base)
        rest_base = amount_base - first.amount_base
        for smaller, parts in ladder[place + 1 :]:
            smaller_base = UNITS[smaller].per_unit_base
            for number in _nearest_numbers(rest_base / smaller_base, parts):
                if number * smaller_base < unit_base:
                    yield [first, said(number, smaller, smaller_base)]


def _nearest_numbers(
    exact: Fraction, denominators: tuple[int, ...]
) -> Iterator[Fraction]:
    for denominator in denominators:
        number = Fraction(round(exact * denominator), denominator)
        if number:
            yield number
