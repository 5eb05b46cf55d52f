"""From an amount in base units back to what people say: `2 cases + 6 lb`.

Packs come first, in whole numbers, largest first; words of the item's own follow
where they are larger than the kitchen's everyday unit; the rest is said in pounds and
ounces, or gallons to spoons, where that comes out in fractions that people use, else
in metric decimals. `say` is exact: what it says reads back as the same amount at the
ledger's resolution. `say_short` and `say_plain` round for display.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import chain
from math import ceil, floor

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
METRIC_UNITS = {
    Measure.MASS: ("kg", "g"),
    Measure.VOLUME: ("L", "mL"),
    Measure.COUNT: ("each",),
}
CUSTOMARY_WORDS = frozenset(
    ["oz", "lb", "tsp", "tbsp", "fl oz", "cup", "pint", "quart", "gallon"]
)
# A word of the item's own below this is not counted in: 9 sticks are 2 lb + 4 oz.
LEAST_OWN_WORD = {Measure.MASS: "lb", Measure.VOLUME: "quart", Measure.COUNT: "dozen"}
MOST_PACK_TERMS = 3
# Nobody counts more of anything one by one; larger amounts are said in other units.
MOST_PACKS = 100_000
# More places than the ledger keeps of a gram, said in kilograms.
MOST_DECIMALS = 9
# What a short saying may be off, of the whole, before it has to say "about"; and how
# far "about" may reach before it speaks in decimals instead. Our choice.
SHORT_TOLERANCE = Fraction(1, 200)
ABOUT_TOLERANCE = Fraction(1, 20)
PLAIN_TOLERANCE = Fraction(1, 2000)


@dataclass(frozen=True, slots=True)
class _Said:
    """One part of a saying: what is said, and what it comes to."""

    text: str
    amount_base: Fraction


def say(
    amount_base: Amount, converter: Converter, *, prefer: System | None = None
) -> str:
    """Return the amount in words that read back as the same, to the ledger's place.

    Pounds and cups are tried before grams and millilitres, unless told otherwise.
    """
    target_base = _not_negative(amount_base)
    if not target_base:
        return f"0 {converter.base_unit}"
    packs = _whole_packs(target_base, converter)
    said_base = sum((said.amount_base for said in packs), Fraction(0))
    if round_half_up(said_base, LEDGER_PLACES) == target_base:
        return _joined(packs)
    rest_base = target_base - said_base
    kitchen = _in_kitchen_units(rest_base, converter, prefer or System.CUSTOMARY)
    metric = ([said] for said in _metric(rest_base, converter.measure))
    for rest in chain(kitchen, metric):
        rest_said_base = sum(said.amount_base for said in rest)
        if round_half_up(said_base + rest_said_base, LEDGER_PLACES) == target_base:
            return _joined([*packs, *rest])
    raise AssertionError("metric decimals reach the ledger's resolution")


def say_signed(
    amount_base: Amount, converter: Converter, *, prefer: System | None = None
) -> str:
    """Return the amount as `say` does; a negative one as `minus 6 lb`."""
    words = say(abs(Fraction(amount_base)), converter, prefer=prefer)
    is_negative = round_half_up(amount_base, LEDGER_PLACES) < 0
    return f"minus {words}" if is_negative else words


def say_short(
    amount_base: Amount, converter: Converter, *, prefer: System | None = None
) -> str:
    """Return the amount in at most two terms, for display: `2 cases + 6 lb`.

    It is rounded; from half a percent on it says so: `about 2 cases`. Unless told
    otherwise it speaks in pounds where the item's packs and own words do.
    """
    target_base = _not_negative(amount_base)
    if not target_base:
        return f"0 {converter.base_unit}"
    tolerance_base = target_base * SHORT_TOLERANCE
    packs = _nearest_packs(target_base, tolerance_base, converter)
    rest_base = target_base - sum(said.amount_base for said in packs)
    if abs(rest_base) <= tolerance_base:
        return _joined(packs)
    system = prefer or _system_of(converter)
    kitchen = [
        rest
        for rest in _in_kitchen_units(rest_base, converter, system)
        if len(packs) + len(rest) <= 2
    ]
    metric = [[said] for said in _metric(rest_base, converter.measure)]
    best, off_base = _nearest(kitchen or metric, rest_base, tolerance_base)
    if off_base > target_base * ABOUT_TOLERANCE:
        best, off_base = _nearest(metric, rest_base, tolerance_base)
    words = _joined([*packs, *best])
    return words if off_base <= tolerance_base else f"about {words}"


def say_plain(amount_base: Amount, measure: Measure) -> str:
    """Return the amount in metric units or each, to about 4 digits: `2.5 kg`."""
    target_base = round_half_up(amount_base, LEDGER_PLACES)
    if not target_base:
        return f"0 {measure.base_unit}"
    size_base = abs(target_base)
    candidates = [[said] for said in _metric(size_base, measure)]
    best, _ = _nearest(candidates, size_base, size_base * PLAIN_TOLERANCE)
    return f"{'-' if target_base < 0 else ''}{_joined(best)}"


def _not_negative(amount_base: Amount) -> Fraction:
    target_base = round_half_up(amount_base, LEDGER_PLACES)
    if target_base < 0:
        raise ValueError(f"amount_base must not be negative, not {amount_base}")
    return target_base


def _joined(parts: list[_Said]) -> str:
    return " + ".join(said.text for said in parts)


def _said(number: Fraction, word: str, per_unit_base: Fraction) -> _Said:
    shown = word if number <= 1 else plural(word)
    return _Said(f"{format_number(number)} {shown}", number * per_unit_base)


def _counting_words(converter: Converter) -> list[OwnWord]:
    least_base = UNITS[LEAST_OWN_WORD[converter.measure]].per_unit_base
    return [
        own
        for own in converter.own_words
        if own.holds_base >= (LEDGER_STEP if own.is_pack else least_base)
    ]


def _whole_packs(target_base: Fraction, converter: Converter) -> list[_Said]:
    parts: list[_Said] = []
    # What is below this rounds to the target, not above it.
    rest_base = target_base + LEDGER_STEP / 2
    for own in _counting_words(converter):
        whole = ceil(rest_base / own.holds_base) - 1
        if 1 <= whole <= MOST_PACKS and len(parts) < MOST_PACK_TERMS:
            parts.append(_said(Fraction(whole), own.word, own.holds_base))
            rest_base -= parts[-1].amount_base
    return parts


def _nearest_packs(
    target_base: Fraction, tolerance_base: Fraction, converter: Converter
) -> list[_Said]:
    for own in _counting_words(converter):
        whole = floor((target_base + tolerance_base) / own.holds_base)
        if 1 <= whole <= MOST_PACKS:
            return [_said(Fraction(whole), own.word, own.holds_base)]
    return []


def _nearest(
    candidates: list[list[_Said]], target_base: Fraction, tolerance_base: Fraction
) -> tuple[list[_Said], Fraction]:
    """Return the first candidate that is near enough, else the nearest; how far off."""

    def off_base(parts: list[_Said]) -> Fraction:
        return abs(target_base - sum(said.amount_base for said in parts))

    for parts in candidates:
        if off_base(parts) <= tolerance_base:
            return parts, off_base(parts)
    nearest = min(candidates, key=off_base)
    return nearest, off_base(nearest)


def _in_kitchen_units(
    amount_base: Fraction, converter: Converter, system: System
) -> Iterator[list[_Said]]:
    """Yield ways to say an amount in spoons and pounds, or each, the plainest first."""
    measure = converter.measure
    if system is System.CUSTOMARY and measure is not Measure.COUNT:
        yield from _customary(amount_base, LADDERS[measure])
    elif measure is Measure.COUNT:
        ladder = LADDERS[measure]
        in_dozens = _speaks_of(converter, frozenset(["dozen"]))
        yield from _customary(amount_base, ladder if in_dozens else ladder[1:])


def _customary(
    amount_base: Fraction, ladder: tuple[tuple[str, tuple[int, ...]], ...]
) -> Iterator[list[_Said]]:
    for place, (word, denominators) in enumerate(ladder):
        unit_base = UNITS[word].per_unit_base
        for number in _nearest_numbers(amount_base / unit_base, denominators):
            yield [_said(number, word, unit_base)]
        whole = Fraction(floor(amount_base / unit_base))
        if not whole:
            continue
        first = _said(whole, word, unit_base)
        rest_base = amount_base - first.amount_base
        for smaller, parts in ladder[place + 1 :]:
            smaller_base = UNITS[smaller].per_unit_base
            for number in _nearest_numbers(rest_base / smaller_base, parts):
                if number * smaller_base < unit_base:
                    yield [first, _said(number, smaller, smaller_base)]


def _nearest_numbers(
    exact: Fraction, denominators: tuple[int, ...]
) -> Iterator[Fraction]:
    for denominator in denominators:
        number = Fraction(round(exact * denominator), denominator)
        if number:
            yield number


def _metric(amount_base: Fraction, measure: Measure) -> Iterator[_Said]:
    words = METRIC_UNITS[measure]
    # A kilogram less than the ledger's step is still said as a kilogram.
    size_base = amount_base + LEDGER_STEP
    fitting = [word for word in words if UNITS[word].per_unit_base <= size_base]
    word = (fitting or words[-1:])[0]
    unit_base = UNITS[word].per_unit_base
    for places in range(MOST_DECIMALS + 1):
        number = round_half_up(amount_base / unit_base, places)
        if number:
            yield _Said(f"{finite_decimal(number)} {word}", number * unit_base)


def _speaks_of(converter: Converter, words: frozenset[str]) -> bool:
    """Whether the item's packs or own words are given in one of these units."""
    return any(
        unit.word in words
        for own in converter.own_words
        for term in own.holds.terms
        if (unit := UNIT_BY_WORD.get(word_key(term.unit)))
    )


def _system_of(converter: Converter) -> System:
    in_customary = _speaks_of(converter, CUSTOMARY_WORDS)
    return System.CUSTOMARY if in_customary else System.METRIC
