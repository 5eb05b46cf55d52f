"""The echo of an entry: what was said in whole words, and what that comes to.

A phone says it by itself, with no network, just as it is said here: see `echo.js`.
"""

from fractions import Fraction
from itertools import pairwise

from stock.measures.conversion import Converter
from stock.measures.reading.systems import (
    EVERYDAY_UNITS,
    system_of,
)
from stock.measures.reading.terms import (
    Term,
    TypedQuantity,
    finite_decimal,
    spelled_term,
)
from stock.measures.resolution import round_half_up
from stock.measures.units import UNIT_BY_WORD, Measure, plural, word_key

TOTAL_PLACES = 2  # what one reads off a scale; more is said as about so much


def everyday_units(converter: Converter) -> tuple[str, str]:
    """Return the units in which an echo says a whole: the larger, and the smaller."""
    units = EVERYDAY_UNITS[converter.measure, system_of(converter)]
    return units[0], units[-1]


def spelled_out(quantity: TypedQuantity, converter: Converter) -> str:
    """Return a quantity as one says it, so that it is read in one way only.

    With a plus between packs and what is loose, and none inside what is loose.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> flour = compile_converter(
    ...     read_item_measures("flour", "mass", own_units="bag = 50 lb")
    ... )
    >>> spelled_out(flour.read("2 bags 6 lb 4 oz"), flour)
    '2 bags + 6 lb 4 oz'
    """
    said = [spelled_term(term.number, term.unit) for term in quantity.terms]
    parts = [said[0]]
    for pair, words in zip(pairwise(quantity.terms), said[1:], strict=True):
        parts.append(f"{' ' if _is_loose(*pair, converter) else ' + '}{words}")
    return "".join(parts)


def echo(
    quantity: TypedQuantity,
    tare: TypedQuantity | None,
    amount_base: Fraction,
    converter: Converter,
) -> str:
    """Return what was said in whole words, with its whole where that tells more."""
    said = spelled_out(quantity, converter)
    everyday = everyday_units(converter)
    is_plain = all(term.unit in everyday for term in quantity.terms) and all(
        _is_loose(*pair, converter) for pair in pairwise(quantity.terms)
    )
    if tare is not None:
        said = f"{said} less {spelled_out(tare, converter)}"
    total = total_words(amount_base, converter)
    return said if (is_plain and tare is None) or not total else f"{said} = {total}"


def total_words(amount_base: Fraction, converter: Converter) -> str:
    """Return a whole in one everyday unit: `78 lb`, `about 9.33 oz`.

    Blank for what is nothing to two places of the smaller unit.
    """
    unit, smaller = everyday_units(converter)
    said = smaller if amount_base < converter.base_by_unit[unit] else unit
    number = amount_base / converter.base_by_unit[said]
    shown = round_half_up(number, TOTAL_PLACES)
    if not shown:
        return ""
    words = f"{finite_decimal(shown)} {said if shown <= 1 else plural(said)}"
    return words if shown == number else f"about {words}"


def _is_loose(before: Term, term: Term, converter: Converter) -> bool:
    """Whether two parts are said in one breath: pounds and their ounces."""
    if converter.measure is Measure.COUNT or any(
        word_key(each.unit) in converter.own_by_form for each in (before, term)
    ):
        return False
    measures = {UNIT_BY_WORD[word_key(each.unit)].measure for each in (before, term)}
    larger, smaller = (converter.unit_base(each.unit) for each in (before, term))
    return len(measures) == 1 and larger > smaller
