"""The quantity grammar: what people write, read exactly and without guessing.

    quantity = term { ["+"] term }
    term     = number unit                            2 case, 6lb, 1 lb 4 oz
    number   = decimal | [whole] fraction | whole     1.5, .5, 1 3/4, 1¾, 12
    fraction = whole "/" whole | vulgar fraction      3/4, ¾ (also with U+2044)
    unit     = word { word }                          lb, fl oz, half sheet

Numbers are fractions, never floats. Units are only words here: what they mean
depends on the item and is decided by `conversion`. There is no word for nothing:
`0 each` is a quantity, `none` is not.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import QuantityError

# Longer than anything that people write; keeps pasted pages out.
LONGEST_TEXT = 200
# A thousand million of anything is a slip, and larger than the ledger keeps.
LARGEST_NUMBER = 10**9

# What measuring spoons, cups and scales are marked with.
KITCHEN_DENOMINATORS = frozenset([2, 3, 4, 8])

VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
FRACTION_BY_CHAR = {
    char: Fraction(unicodedata.numeric(char)).limit_denominator(10) for char in VULGAR
}
SLASH = "/\N{FRACTION SLASH}\N{DIVISION SLASH}"
MINUS_MARKS = "-\N{HYPHEN}\N{NON-BREAKING HYPHEN}\N{EN DASH}\N{EM DASH}\N{MINUS SIGN}"

NUMBER = rf"""
    (?P<point>[0-9]*\.[0-9]+)
  | (?:(?P<mixed>[0-9]+)\s+)?(?P<top>[0-9]+)\s*[{SLASH}]\s*(?P<bottom>[0-9]+)
  | (?P<before>[0-9]+)?\s*(?P<vulgar>[{VULGAR}])
  | (?P<whole>[0-9]+)
"""
# Python counts ½ and ² among the characters of a word; here they are no letters.
LETTERS = r"[^\W\d_\u00b2\u00b3\u00b9\u00bc-\u00be\u2070-\u209f\u2150-\u218f]+"
WORD = rf"{LETTERS}(?:['\N{{RIGHT SINGLE QUOTATION MARK}}.&-]{LETTERS})*\.?"
UNIT = rf"{WORD}(?:\s+{WORD})*"
UNIT_PATTERN = re.compile(UNIT)
NUMBER_PATTERN = re.compile(NUMBER, re.VERBOSE)
TERM_PATTERN = re.compile(rf"\s*(?:{NUMBER})\s*(?P<unit>{UNIT})\s*", re.VERBOSE)
COMMA_PATTERN = re.compile(r"[0-9]+(?:,[0-9]+)+(?:\.[0-9]+)?")


@dataclass(frozen=True, slots=True)
class Term:
    """A number of one unit, as typed: `3 1/2 lb`."""

    number: Fraction
    unit: str

    def __str__(self) -> str:
        return f"{format_number(self.number)} {self.unit}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A sum of terms, as typed; written out again it reads as the same sum."""

    terms: tuple[Term, ...]

    def __str__(self) -> str:
        return " + ".join(str(term) for term in self.terms)


def parse_quantity(text: str) -> Quantity:
    """Return what a text such as `2 case + 3 1/2 lb` says.

    >>> parse_quantity("1¾ cup").terms
    (Term(number=Fraction(7, 4), unit='cup'),)
    """
    if len(text) > LONGEST_TEXT:
        raise QuantityError(
            f"{text[:20]}…", LONGEST_TEXT, f"it is longer than {LONGEST_TEXT} letters."
        )
    composed = text if text.isascii() else unicodedata.normalize("NFC", text)
    return Quantity(tuple(_terms(composed)))


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


def _terms(text: str) -> Iterator[Term]:
    position = 0
    while True:
        match = TERM_PATTERN.match(text, position)
        if match is None:
            raise _explained(text, position)
        yield _term(text, match)
        position = match.end()
        if position == len(text):
            return
        if text[position] == "+":
            position += 1
        elif text[position - 1] == ".":
            advice = "the point could end a word or start a number. Put a space there."
            raise QuantityError(text, position - 1, advice)


def _term(text: str, match: re.Match[str]) -> Term:
    number = _number(text, match)
    if number > LARGEST_NUMBER:
        advice = f"{match[0].strip()} is more than a bakery can hold."
        raise QuantityError(text, match.start(), advice)
    unit = match["unit"].replace(".", " ")
    return Term(number, " ".join(unit.split()))


def _number(text: str, match: re.Match[str]) -> Fraction:
    if whole := match["whole"]:
        return Fraction(int(whole))
    if point := match["point"]:
        before, _, after = point.partition(".")
        return Fraction(int(before + after), 10 ** len(after))
    if vulgar := match["vulgar"]:
        return int(match["before"] or 0) + FRACTION_BY_CHAR[vulgar]
    top, bottom, mixed = int(match["top"]), int(match["bottom"]), match["mixed"]
    if bottom == 0:
        advice = f"{top}/0 has a zero below the line. Write a fraction such as 1/2."
        raise QuantityError(text, match.start("bottom"), advice)
    if mixed and top >= bottom:
        advice = (
            f"{mixed} {top}/{bottom} has a fraction that is no part of one. "
            f"Write {format_number(int(mixed) + Fraction(top, bottom))} if you mean it."
        )
        raise QuantityError(text, match.start("top"), advice)
    return int(mixed or 0) + Fraction(top, bottom)


def _explained(text: str, position: int) -> QuantityError:
    """Return the error for a place where no term can be read, with what to write."""
    start = position + len(text[position:]) - len(text[position:].lstrip())
    rest = text[start:].strip()
    if comma := COMMA_PATTERN.match(text, start):
        return QuantityError(text, start, _comma_advice(comma[0]))
    if not rest:
        return QuantityError(text, start, _missing_advice(text))
    if rest[0] in MINUS_MARKS:
        advice = "it cannot be negative. Write how much there is, such as 3 lb."
        return QuantityError(text, start, advice)
    if number := NUMBER_PATTERN.match(text, start):
        return _explained_number(text, number)
    if unit := UNIT_PATTERN.match(text, start):
        advice = f"write a number before {unit[0]}, such as 1 {unit[0]}."
        return QuantityError(text, start, advice)
    if rest[0] in ",;&":
        advice = f'"{rest[0]}" cannot be read. Put + between two parts: 1 case + 6 lb.'
        return QuantityError(text, start, advice)
    advice = f'"{rest[0]}" cannot be read. Write a number and a unit, such as 1.5 lb.'
    return QuantityError(text, start, advice)


def _explained_number(text: str, number: re.Match[str]) -> QuantityError:
    rest = text[number.end() :].lstrip()
    start = len(text) - len(rest)
    written = number[0].strip()
    if rest[:1] and rest[0] in MINUS_MARKS:
        advice = "it has a dash. Write one number, such as 2.5 or 1 3/4."
    elif rest[:1] in {"", "+"} or NUMBER_PATTERN.match(rest):
        advice = (
            f"{written} has no unit. Write what it counts, such as {written} lb, "
            f"{written} cup or {written} each."
        )
    else:
        advice = f'"{rest[0]}" cannot be read. Write a unit after {written}.'
    return QuantityError(text, start, advice)


def _comma_advice(written: str) -> str:
    plain = written.replace(",", "")
    if written.count(",") > 1 or "." in written:
        return f"a comma cannot be read. Write {plain}, not {written}."
    pointed = written.replace(",", ".")
    if len(written.partition(",")[2]) == 3:
        return f"a comma cannot be read. Write {plain} or {pointed}, not {written}."
    return f"a comma cannot be read. Write {pointed}, not {written}."


def _missing_advice(text: str) -> str:
    if "+" in text:
        return "something is missing beside the +. Write both, such as 1 case + 6 lb."
    return "it is empty. Write a number and a unit, such as 2 lb."
