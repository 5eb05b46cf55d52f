"""Lengths as people write them: `1.5 in`, `1½ in`, `9 1/2"`, `4 cm`.

Only what measures a pan or a layer: inches and centimeters, always above nothing.
"""

import re
from fractions import Fraction

from stock.errors import LengthError
from stock.measures.reading.tokens import plain_signs

# Exactly, by the international inch: 16 CFR 500.19.
CM_PER_INCH = Fraction(254, 100)
CM_PER_UNIT = {"in": CM_PER_INCH, "cm": Fraction(1)}

NUMBER = r"(?:\d{1,4}[ -])?\d{1,3}/\d{1,3}|\d{1,4}(?:\.\d{1,6})?"
UNIT = r"inches|inch|in|cm|\"|″"
LENGTH = re.compile(rf"({NUMBER})\s*-?\s*({UNIT})\.?")
# Unicode fractions as typed on a phone; a space before keeps 9½ a mixed number.
UNICODE_FRACTIONS = {
    ord(sign): f" {text}"
    for sign, text in {
        "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5",
        "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8",
        "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    }.items()
}  # fmt: skip
TIMES = "\N{MULTIPLICATION SIGN}"
PASTED_FRACTION = re.compile(
    r"(\d{1,3})[\N{FRACTION SLASH}\N{DIVISION SLASH}](\d{1,3})"
)


def parse_length_cm(text: str) -> float:
    """Return a length in centimeters; raise a LengthError where it is none.

    >>> parse_length_cm("1.5 in"), parse_length_cm("1½ in")
    (3.81, 3.81)
    """
    match = LENGTH.fullmatch(plain(text))
    if not match:
        raise LengthError(text)
    try:
        length = read_number(match[1])
    except ZeroDivisionError as error:
        raise LengthError(text) from error
    if not length:
        raise LengthError(text)
    return float(length * CM_PER_UNIT[unit_of(match[2])])


def plain(text: str) -> str:
    r"""Return text in small letters, with fractions as 1/2 and x for times.

    Full-width digits and curly inch marks are read as a keyboard has them. A pasted
    fraction slash is one where the fraction is less than one: 13 over 4 may be 1 3/4.

    >>> plain("\uff19\u00bd\u201d round")
    '9 1/2" round'
    """
    words = plain_signs(text).translate(UNICODE_FRACTIONS).replace(TIMES, "x").lower()
    words = PASTED_FRACTION.sub(_proper, words).replace("''", '"')
    return " ".join(words.split())


def _proper(fraction: re.Match[str]) -> str:
    top, bottom = int(fraction[1]), int(fraction[2])
    return f"{top}/{bottom}" if top < bottom else fraction[0]


def read_number(words: str) -> Fraction:
    """Return what NUMBER matched; a fraction of 0 parts is a ZeroDivisionError.

    >>> read_number("9 1/2")
    Fraction(19, 2)
    """
    return sum(map(Fraction, re.split("[ -]", words)), Fraction(0))


def unit_of(word: str) -> str:
    """Return what UNIT matched as a key of CM_PER_UNIT."""
    return "cm" if word == "cm" else "in"
