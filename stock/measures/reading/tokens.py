"""What was typed, cut into numbers, words and marks; see `reader` for what they mean.

A number is a decimal, a fraction, a mixed number or a whole one, read exactly. Where
some program has put a fraction slash into 1¾, it looks like thirteen quarters: such a
number has two values, the likelier first.
"""

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from stock.errors import QuantityError
from stock.measure_faults import FaultKind, MeasureFault
from stock.measures.reading.vocabulary import (
    ARTICLES,
    GRAMMAR_WORDS,
    MINUS_MARKS,
    NUMBER_BY_WORD,
    SHARE_BY_WORD,
    TIMES_WORD,
)
from stock.measures.units import word_key

# Longer than anything that people write; keeps pasted pages out.
LONGEST_TEXT = 200
# A thousand million of anything is a slip, and larger than the ledger keeps.
LARGEST_NUMBER = 10**9

VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
FRACTION_BY_CHAR = {
    char: Fraction(unicodedata.numeric(char)).limit_denominator(10) for char in VULGAR
}
SLASH = "/\N{FRACTION SLASH}\N{DIVISION SLASH}"
NUMBER = rf"""
    (?P<point>[0-9]*\.[0-9]+)
  | (?:(?P<mixed>[0-9]+)\s+)?(?P<top>[0-9]+)\s*(?P<slash>[{SLASH}])\s*(?P<bottom>[0-9]+)
  | (?P<before>[0-9]+)?\s*(?P<vulgar>[{VULGAR}])
  | (?P<whole>[0-9]+)
"""
# Python counts ½ and ² among the characters of a word; here they are no letters.
LETTERS = r"[^\W\d_\u00b2\u00b3\u00b9\u00bc-\u00be\u2070-\u209f\u2150-\u218f]+"
WORD = rf"{LETTERS}(?:['\N{{RIGHT SINGLE QUOTATION MARK}}.&-]{LETTERS})*\.?"
TOKEN_PATTERN = re.compile(
    rf"\s*(?:(?P<number>{NUMBER})|(?P<word>{WORD})|(?P<mark>\S))", re.VERBOSE
)
# A number of a unit in plain letters, as most of what is typed.
SIMPLE_PATTERN = re.compile(
    rf"\s*(?:{NUMBER})\s*(?P<unit>{WORD}(?:\s+{WORD})*)\s*", re.VERBOSE | re.ASCII
)
GRAMMAR_AND_TIMES = GRAMMAR_WORDS | {TIMES_WORD}
# Spaces to some languages and not to others: separators, and one of no width.
ODD_SPACES = re.compile(r"[\x1c-\x1f\x85\ufeff]")
# Full-width signs of an East Asian keyboard, and what a phone makes of an inch mark.
PLAIN_BY_CHAR = {0xFF01 + place: 0x21 + place for place in range(94)} | {
    ord(mark): '"'
    for mark in "\N{LEFT DOUBLE QUOTATION MARK}\N{RIGHT DOUBLE QUOTATION MARK}"
    "\N{DOUBLE LOW-9 QUOTATION MARK}\N{DOUBLE PRIME}"
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A number written in digits: its values, the likelier first.

    `ratio` is what stands above and below a slash with no whole number before it.
    """

    values: tuple[Fraction, ...]
    ratio: tuple[int, int] | None = None
    is_whole: bool = False

    @property
    def is_fraction(self) -> bool:
        """Whether it can follow a whole number: the 1/2 of 1-1/2."""
        return not self.is_whole and len(self.values) == 1 and 0 < self.values[0] < 1


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of what was typed, and where it stands in it."""

    kind: str  # number, word, mark or end
    text: str
    start: int
    figure: Figure | None = None

    @property
    def key(self) -> str:
        """The piece as words are compared."""
        return word_key(self.text)

    @property
    def end(self) -> int:
        """Where the next piece could begin."""
        return self.start + len(self.text)

    @property
    def value(self) -> Fraction:
        """The likeliest value of a number."""
        if self.figure is None:
            raise ValueError(f"{self.text} must be a number")
        return self.figure.values[0]

    def touches(self, after: "Token") -> bool:
        """Whether nothing stands between this and the one after it."""
        return self.end == after.start


def plain_signs(text: str) -> str:
    r"""Return a text with full-width signs and curly inch marks as a keyboard has them.

    >>> plain_signs("\uff11\uff12 \uff4c\uff42, 9\u201d")
    '12 lb, 9"'
    """
    return text if text.isascii() else text.translate(PLAIN_BY_CHAR)


def tidy(text: str) -> str:
    """Return a text as it is read: signs plain, accents composed, no outer spaces."""
    composed = text if text.isascii() else unicodedata.normalize("NFC", text)
    return ODD_SPACES.sub(" ", plain_signs(composed)).strip()


def refuse_long(text: str) -> None:
    """Raise a QuantityError for what is longer than people write."""
    if len(text) > LONGEST_TEXT:
        fault = MeasureFault(FaultKind.TOO_LONG, str(LONGEST_TEXT))
        raise QuantityError(f"{text[:20]}…", LONGEST_TEXT, fault)


def tokens_of(text: str, is_known: Callable[[str], bool]) -> Iterator[Token]:
    """Yield the pieces of a tidy text; a known word with a dash in it stays whole."""
    for match in TOKEN_PATTERN.finditer(text):
        if match["number"]:
            start = match.start("number")
            yield Token("number", match["number"], start, figure_of(text, match))
        elif match["word"]:
            yield from _words(match["word"], match.start("word"), is_known)
        else:
            yield Token("mark", match["mark"], match.start("mark"))


def _words(text: str, start: int, is_known: Callable[[str], bool]) -> Iterator[Token]:
    """Split `lb-bin` and `bag&tub`; the dash of `three-quarters` says nothing."""
    if is_known(word_key(text)):
        yield Token("word", text, start)
        return
    pieces = list(re.finditer(rf"[{MINUS_MARKS}&]|[^{MINUS_MARKS}&]+", text))
    first = word_key(pieces[0][0])
    counts = first in NUMBER_BY_WORD or first in SHARE_BY_WORD
    for piece in pieces:
        is_mark = piece[0] in MINUS_MARKS + "&"
        if not (is_mark and counts and first not in ARTICLES and piece[0] != "&"):
            kind = "mark" if is_mark else "word"
            yield Token(kind, piece[0], start + piece.start())


def simple_terms(text: str) -> list[tuple[Fraction, str]] | None:
    """Return the numbers and units of what most lines say: `2 case + 3 1/2 lb`.

    None where the grammar has to look at it: for words of the grammar, and for
    whatever else is no such sum.
    """
    terms: list[tuple[Fraction, str]] = []
    place = 0
    while match := SIMPLE_PATTERN.match(text, place):
        words = match["unit"].replace(".", " ").split()
        is_pasted = match["slash"] not in (None, "/")
        if is_pasted or any(word.casefold() in GRAMMAR_AND_TIMES for word in words):
            return None
        terms.append((figure_of(text, match).values[0], " ".join(words)))
        place = match.end()
        if place == len(text):
            return terms
        if text[place] == "+":
            place += 1
        elif text[place - 1] == ".":
            return None
    return None


def figure_of(text: str, match: re.Match[str]) -> Figure:
    """Return the number that NUMBER has matched, or raise what is wrong with it."""
    figure = _figure(text, match)
    if max(figure.values) > LARGEST_NUMBER:
        fault = MeasureFault(FaultKind.TOO_LARGE, match[0].strip())
        raise QuantityError(text, match.start(), fault)
    return figure


def _figure(text: str, match: re.Match[str]) -> Figure:
    if whole := match["whole"]:
        return Figure((Fraction(int(whole)),), is_whole=True)
    if point := match["point"]:
        before, _, after = point.partition(".")
        return Figure((Fraction(int(before + after), 10 ** len(after)),))
    if vulgar := match["vulgar"]:
        return Figure((int(match["before"] or 0) + FRACTION_BY_CHAR[vulgar],))
    top, bottom, mixed = int(match["top"]), int(match["bottom"]), match["mixed"]
    if bottom == 0:
        fault = MeasureFault(FaultKind.ZERO_BELOW, f"{top}/0")
        raise QuantityError(text, match.start("bottom"), fault)
    if mixed and top >= bottom:
        proper = _mixed(int(mixed) + Fraction(top, bottom))
        kind, written = FaultKind.NO_PROPER_FRACTION, f"{mixed} {top}/{bottom}"
        fault = MeasureFault(kind, written, (proper,))
        raise QuantityError(text, match.start("top"), fault)
    if mixed:
        return Figure((int(mixed) + Fraction(top, bottom),))
    value, is_pasted = Fraction(top, bottom), match["slash"] != "/"
    if is_pasted and (mixed_one := _run_together(match["top"], bottom)):
        return Figure((*mixed_one, value))
    return Figure((value,), ratio=(top, bottom))


def _mixed(number: Fraction) -> str:
    whole, top = divmod(number.numerator, number.denominator)
    return f"{whole} {top}/{number.denominator}" if top else str(whole)


def _run_together(top: str, bottom: int) -> tuple[Fraction, ...]:
    """Return 1¾ for the 13 over 4 that some programs make of it."""
    whole, last = top[:-1], int(top[-1])
    is_one = bool(whole) and int(top) > bottom and 0 < last < bottom
    return (int(whole) + Fraction(last, bottom),) if is_one else ()
