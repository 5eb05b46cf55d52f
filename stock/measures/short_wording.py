"""An amount as a person would say it, rounded: `1 case + 10 3/4 lb`.

One word of the item's packs or own comes first, then one term in the largest familiar
unit; without such a word there may be two terms, as in `3 lb + 7 oz`. No number is
above what the next unit up holds. Every step is nearer to the amount or fussier than
the one before; the first that is near enough is said.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import chain
from math import floor

from stock.measures.conversion import Converter
from stock.measures.resolution import Amount
from stock.measures.sayings import (
    MOST_PACKS,
    Said,
    System,
    counting_words,
    in_metric,
    joined,
    not_negative,
    said,
    speaks_in_dozens,
    system_of,
)
from stock.measures.units import UNITS, Measure


@dataclass(frozen=True, slots=True)
class Step:
    """A familiar unit, the fractions that people say of it, and how far it is used.

    `parts` are denominators from one unit on, `parts_of_one` below it.
    """

    word: str
    unit_base: Fraction
    parts: tuple[int, ...]
    parts_of_one: tuple[int, ...] = (1,)
    most: int = 10**9  # of this unit alone; more is said in a larger one
    pairs_with: str = ""  # the unit that a rest is said in: 3 lb + 7 oz


def _step(
    word: str,
    parts: tuple[int, ...],
    parts_of_one: tuple[int, ...] = (1,),
    *,
    most: int = 10**9,
    pairs_with: str = "",
) -> Step:
    unit_base = UNITS[word].per_unit_base
    return Step(word, unit_base, parts, parts_of_one, most, pairs_with)


# Largest first. Which fractions are familiar, and what goes together, is our choice.
LADDERS = {
    Measure.MASS: (
        _step("lb", (1, 2, 4), (1, 2), pairs_with="oz"),
        _step("oz", (1, 2, 4), (1, 2, 4, 8), most=16),
    ),
    Measure.VOLUME: (
        _step("gallon", (1, 2), pairs_with="quart"),
        _step("quart", (1, 2), most=4, pairs_with="cup"),
        _step("cup", (1, 2, 3, 4), (1, 2, 3, 4), most=8, pairs_with="tbsp"),
        _step("tbsp", (1, 2), most=16),
        _step("tsp", (1, 2, 4), (1, 2, 4, 8), most=3),
    ),
    Measure.COUNT: (
        _step("dozen", (1, 2), pairs_with="each"),
        _step("each", (1, 2, 4), (1, 2, 4), most=12),
    ),
}
ONE_BY_ONE = _step("each", (1, 2, 4), (1, 2, 4))

# How far off the whole a saying may be, our choice: at first; where only a second term
# comes nearer, unless pieces are counted; where only a fussy one does; and where it has
# to say "about".
NEAR = Fraction(1, 200)
EVEN = Fraction(1, 100)
NEAR_ENOUGH = Fraction(1, 50)
ABOUT = Fraction(1, 20)


def say_short(
    amount_base: Amount,
    converter: Converter,
    *,
    prefer: System | None = None,
    in_packs: bool = True,
) -> str:
    """Return the amount in at most two terms, for display: `2 cases + 6 lb`.

    It is rounded; from two percent on it says so: `about 3 tbsp`. Unless told
    otherwise it speaks in pounds where the item's packs and own words do. Without
    packs it says what is in them: `78 lb`.
    """
    target_base = not_negative(amount_base)
    if not target_base:
        return f"0 {converter.base_unit}"
    even_base = target_base * _even(converter)
    first = _first_term(target_base, even_base, converter) if in_packs else []
    rest_base = target_base - sum(part.amount_base for part in first)
    if first and abs(rest_base) <= even_base:
        return joined(first)
    system = prefer or system_of(converter)
    for rests, tolerance in _attempts(rest_base, converter, system, 2 - len(first)):
        tolerance_base = target_base * tolerance
        for rest in rests:
            off_base = abs(rest_base - sum(part.amount_base for part in rest))
            if off_base <= tolerance_base:
                words = joined([*first, *rest])
                is_near = off_base <= target_base * NEAR_ENOUGH
                return words if is_near else f"about {words}"
    raise AssertionError("metric decimals reach the ledger's resolution")


def _first_term(
    target_base: Fraction, even_base: Fraction, converter: Converter
) -> list[Said]:
    """Return the largest word that people count in, as often as it goes in whole.

    A pack comes whether or not something is left over beside it; a word of the
    item's own only where it comes out even.
    """
    for own in counting_words(converter):
        whole = floor((target_base + even_base) / own.holds_base)
        if own.is_spare or not 1 <= whole <= MOST_PACKS:
            continue
        is_even = abs(target_base - whole * own.holds_base) <= even_base
        if own.is_pack or is_even:
            return [said(Fraction(whole), own.word, own.holds_base)]
    return []


def _attempts(
    rest_base: Fraction, converter: Converter, system: System, terms: int
) -> Iterator[tuple[Iterator[list[Said]], Fraction]]:
    """Yield ways to say a rest, each with how far off the whole it may be."""
    ladder = _ladder(converter, system)
    if ladder:
        in_one = partial(_in_one_term, rest_base, ladder)
        in_two = partial(_in_two_terms, rest_base, ladder if terms > 1 else ())
        yield in_one(), NEAR
        yield in_one(), _even(converter)
        yield in_two((1,)), NEAR
        yield chain(in_one(), in_two((1,))), NEAR_ENOUGH
        yield in_two((1, 2)), NEAR_ENOUGH
        yield chain(in_one(), in_two((1, 2))), ABOUT
    metric = in_metric(rest_base, converter.measure)
    yield ([part] for part in metric), NEAR


def _even(converter: Converter) -> Fraction:
    return NEAR if converter.measure is Measure.COUNT else EVEN


def _ladder(converter: Converter, system: System) -> tuple[Step, ...]:
    if converter.measure is Measure.COUNT:
        if speaks_in_dozens(converter):
            return LADDERS[Measure.COUNT]
        # A ribbon's yard is what the ledger calls each.
        words = (own.word for own in converter.own_words if own.holds_base == 1)
        return (replace(ONE_BY_ONE, word=next(words, ONE_BY_ONE.word)),)
    return LADDERS[converter.measure] if system is System.CUSTOMARY else ()


def _in_one_term(
    amount_base: Fraction, ladder: tuple[Step, ...]
) -> Iterator[list[Said]]:
    for step in ladder:
        exact = amount_base / step.unit_base
        for denominator in step.parts if exact >= 1 else step.parts_of_one:
            number = Fraction(round(exact * denominator), denominator)
            if 0 < number < step.most:
                yield [said(number, step.word, step.unit_base)]


def _in_two_terms(
    amount_base: Fraction, ladder: tuple[Step, ...], denominators: tuple[int, ...]
) -> Iterator[list[Said]]:
    """Yield a whole number of one unit and a rest that is no fraction of it."""
    for step in ladder:
        whole = Fraction(floor(amount_base / step.unit_base))
        if not step.pairs_with or not 1 <= whole < step.most:
            continue
        first = said(whole, step.word, step.unit_base)
        rest_unit_base = UNITS[step.pairs_with].per_unit_base
        exact = (amount_base - first.amount_base) / rest_unit_base
        for denominator in denominators:
            number = Fraction(round(exact * denominator), denominator)
            part = number * rest_unit_base / step.unit_base
            if all(part * familiar % 1 for familiar in step.parts):
                yield [first, said(number, step.pairs_with, rest_unit_base)]
