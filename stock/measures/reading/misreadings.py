"""Other ways to read the keys of an entry, and how likely each slip is beforehand.

The right number of the wrong word, two digits swapped, the point moved, a digit struck
twice, a zero lost or added. Shares are of all entries; they are guesses of ours from
what hands at keyboards do, and only their size beside one another matters much.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from stock.measures.conversion import Converter
from stock.measures.reading.meanings import unmistaken
from stock.measures.reading.quantity import Term, TypedQuantity, finite_decimal
from stock.measures.reading.systems import bare_units
from stock.measures.units import UNIT_BY_WORD, word_key

# Of a hundred entries so many have the wrong word, and so many a wrong digit.
PACK_SHARE = 0.015
DIGITS_SHARE = 0.005
# Beside words that the item is bought, given and counted in (1): a unit that is only
# of the same kind, such as a pint of what is bought by the quart.
UNLIKELY_WORD = 0.05
# Beside other slips of a digit (1): a zero that was left out.
UNLIKELY_ZERO = 0.3
# How much less likely parts are that nobody says so: the smaller one first, one word
# twice, as much of the smaller one as makes a larger one, a third of a piece.
ODD_SAYING = 0.03
MOST_PARTS_OF_A_PIECE = 4  # quarters
# The units that hands mix up with one another, beside an item's own words.
MIXED_UP_UNITS = (
    ("oz", "lb"),
    ("g", "kg"),
    ("mL", "L"),
    ("fl oz", "cup", "pint", "quart", "gallon"),
    ("each", "dozen"),
)


class SlipKind(StrEnum):
    """What may have happened."""

    PACK = "pack"  # the right number of the wrong word
    DIGITS = "digits"  # a digit swapped, lost or struck twice, or the point misplaced
    PLACE = "place"  # the rest stands in a place that is not counted yet
    NEARLY_EMPTY = "nearly empty"  # more than the record leaves room for
    FAR_OFF = "far off"


@dataclass(frozen=True, slots=True)
class Misreading:
    """What may have been meant, and how likely the slip is before one looks."""

    kind: SlipKind
    quantity: TypedQuantity
    share: float


def misreadings(quantity: TypedQuantity, converter: Converter) -> Iterator[Misreading]:
    """Yield the other readings of an entry's keys."""
    of_a_term = 1 / len(quantity.terms)
    for place, term in enumerate(quantity.terms):
        weights = _words_for(term.unit, converter)
        for word, weight in weights.items():
            meant = _with_term(quantity, place, Term(term.number, word))
            share = PACK_SHARE * of_a_term * weight / sum(weights.values())
            yield Misreading(SlipKind.PACK, meant, share * said_so(meant, converter))
        numbers = dict(misread_numbers(term.number))
        for number, weight in numbers.items():
            meant = _with_term(quantity, place, Term(number, term.unit))
            share = DIGITS_SHARE * of_a_term * weight / sum(numbers.values())
            yield Misreading(SlipKind.DIGITS, meant, share * said_so(meant, converter))


def said_so(quantity: TypedQuantity, converter: Converter) -> float:
    """Return how likely people say an amount in such parts, from 0 to 1."""
    parts = [(term.number, converter.unit_base(term.unit)) for term in quantity.terms]
    is_odd = any(
        smaller >= larger or number * smaller >= larger
        for (_, larger), (number, smaller) in pairwise(parts)
    )
    is_odd |= converter.base_unit == "each" and any(
        base == 1 and number.denominator > MOST_PARTS_OF_A_PIECE
        for number, base in parts
    )
    return ODD_SAYING if is_odd else 1.0


def misread_numbers(number: Fraction) -> Iterator[tuple[Fraction, float]]:
    """Yield what a number may have been meant to be, and how likely beside others."""
    digits = finite_decimal(number)
    if digits is None or not number:
        return
    for place in range(len(digits) - 1):
        one, other = digits[place], digits[place + 1]
        rest = digits[place + 2 :]
        if "." not in one + other:
            if one == other:
                yield Fraction(digits[:place] + one + rest), 1.0
            else:
                yield Fraction(digits[:place] + other + one + rest), 1.0
    if len(digits.replace(".", "")) > 1:
        yield number / 10, 1.0
    yield number * 10, 1.0 if "." in digits else UNLIKELY_ZERO


def _words_for(typed: str, converter: Converter) -> dict[str, float]:
    """Return the words that may have been meant, and how likely each is.

    Own words, and units like the typed one; for an own word any unit in which the
    item's words are given.
    """
    meant = _word_itself(typed, converter)
    own = [each.word for each in converter.own_words]
    given_in = {
        unit.word
        for each in converter.own_words
        for term in each.holds.terms
        if (unit := UNIT_BY_WORD.get(word_key(term.unit)))
    }
    known = {meant} if meant not in own else {converter.base_unit} | given_in
    likely = {*own, *given_in, *bare_units(converter)}
    units = [
        unit
        for alike in MIXED_UP_UNITS
        if known.intersection(alike)
        for unit in alike
        if unit in converter.base_by_unit
    ]
    return {
        unmistaken(word, converter): 1.0 if word in likely else UNLIKELY_WORD
        for word in own + units
        if word != meant
    }


def _word_itself(typed: str, converter: Converter) -> str:
    """Return the word for an unmistakable one: L for liter, box for box pack."""
    key = word_key(typed)
    own = converter.own_by_form.get(key)
    return own.word if own else UNIT_BY_WORD[key].word


def _with_term(quantity: TypedQuantity, place: int, term: Term) -> TypedQuantity:
    return TypedQuantity((*quantity.terms[:place], term, *quantity.terms[place + 1 :]))
