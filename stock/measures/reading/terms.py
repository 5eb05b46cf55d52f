"""A quantity as it was read: a sum of numbers of units, exact, and written out again.

Numbers are fractions, never floats. Units are only words here: what they mean depends
on the item and is decided by `conversion`.
"""

from dataclasses import dataclass
from fractions import Fraction

from stock.measures.reading.tokens import FRACTION_BY_CHAR
from stock.measures.reading.vocabulary import PACK_SIZE_UNITS
from stock.measures.units import plural

# What measuring spoons, cups and scales are marked with.
KITCHEN_DENOMINATORS = frozenset([2, 3, 4, 8])
VULGAR_BY_FRACTION = {fraction: char for char, fraction in FRACTION_BY_CHAR.items()}


@dataclass(frozen=True, slots=True)
class Term:
    """A number of one unit, as typed: `3 1/2 lb`."""

    number: Fraction
    unit: str

    def __str__(self) -> str:
        return f"{format_number(self.number)} {self.unit}"


@dataclass(frozen=True, slots=True)
class TypedQuantity:
    """A sum of terms, as typed; written out again it reads as the same sum."""

    terms: tuple[Term, ...]

    def __str__(self) -> str:
        return " + ".join(str(term) for term in self.terms)


def format_number(number: Fraction) -> str:
    """Return a number as people write it: `3`, `1 3/4`, or `0.893` where finite.

    >>> [format_number(Fraction(n)) for n in ("12", "7/4", "1/3", "1.6", "23/7")]
    ['12', '1 3/4', '1/3', '1.6', '3 2/7']
    """
    whole, top = divmod(number.numerator, number.denominator)
    if not top:
        return str(whole)
    if number.denominator not in KITCHEN_DENOMINATORS:
        decimal = finite_decimal(number)
        if decimal is not None:
            return decimal
    fraction = f"{top}/{number.denominator}"
    return f"{whole} {fraction}" if whole else fraction


def finite_decimal(number: Fraction) -> str | None:
    """Return a number in decimals, `0.893`; None where they would never end."""
    places, rest = 0, number.denominator
    for prime in (2, 5):
        power = 0
        while rest % prime == 0:
            rest //= prime
            power += 1
        places = max(places, power)
    if rest != 1:
        return None
    digits = str(number.numerator * 10**places // number.denominator)
    if not places:
        return digits
    digits = digits.rjust(places + 1, "0")
    return f"{digits[:-places]}.{digits[-places:]}"


def spelled_term(number: Fraction, unit: str, *, is_size: bool = False) -> str:
    """Return so many of a unit as one says it, so that it is read in one way only.

    Beside a unit in which packs are sized, 3/4 could be three of four: then ¾. So it
    could beside any other unit where packs are written down, which `is_size` says.

    >>> spelled_term(Fraction(2), "case"), spelled_term(Fraction("3/4"), "lb")
    ('2 cases', '¾ lb')
    """
    word = unit if number <= 1 else plural(unit)
    if number >= 1 or number.numerator <= 1 or not (is_size or unit in PACK_SIZE_UNITS):
        return f"{format_number(number)} {word}"
    written = VULGAR_BY_FRACTION.get(number) or finite_decimal(number)
    return f"{written} {word}" if written else f"{format_number(number)} of a {word}"
