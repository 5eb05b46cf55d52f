"""Two amounts and how far they are apart, in words that add up as they are said.

Each amount is said as everywhere else, whatever it is compared with: `1 case`,
`2 cases`, `1 case`. Where rounding would make the difference another one, it is said
as it is, and `adds_up` is False: whoever shows the three shows what was rounded too.

An amount of an item as people are told it: rounded, or just as it is stored.

Whoever tells people an amount asks here, or a page's `Amount` and a plan's
`AmountWords`: pieces are called by the item's own word, never each.
"""

from fractions import Fraction
from typing import NamedTuple

from stock.measures.conversion import Converter
from stock.measures.nouns import with_noun
from stock.measures.reading.sayings import system_in, system_of
from stock.measures.reading.spoken import spoken_words, stated_words
from stock.measures.resolution import Amount, to_ledger
from stock.measures.wording import negative, say, say_short

ABOUT = "about "
# So far off may a difference be that is said, in a hundred. Our choice.
DIFFERENCE_OFF = Fraction(2, 100)

NONE = "none"


class Compared(NamedTuple):
    """Two amounts in words, the size of their difference, and whether that adds up."""

    one: str
    other: str
    apart: str
    adds_up: bool


def say_compared(
    one_base: Amount, other_base: Amount, converter: Converter
) -> Compared:
    """Return two amounts and the size of their difference in words.

    Below nothing an amount is said as one above it.
    """
    bases = Fraction(one_base), Fraction(other_base)
    one, other = (_short(base, converter) for base in bases)
    apart_base = bases[0] - bases[1]
    shown_base = _come_to(bases[0], one, converter) - _come_to(
        bases[1], other, converter
    )
    is_near = abs(shown_base - apart_base) <= DIFFERENCE_OFF * abs(apart_base)
    if is_near and (apart := _difference(shown_base, converter)):
        return Compared(one, other, apart, adds_up=True)
    return Compared(one, other, _short(apart_base, converter), adds_up=False)


def is_as_said(base: Amount, words: str, converter: Converter) -> bool:
    """Whether words come to just the amount, at the ledger's resolution."""
    exact = Fraction(base)
    return to_ledger(_come_to(exact, words, converter)) == to_ledger(exact)


def _difference(shown_base: Fraction, converter: Converter) -> str:
    """Return words that come to a difference; blank where none are familiar."""
    short = _short(shown_base, converter)
    if _come_to(shown_base, short, converter) == shown_base:
        return short.removeprefix(ABOUT)
    system = system_of(converter)
    words = say(abs(shown_base), converter, prefer=system)
    return words if system_in(words) in (system, None) else ""


def _short(base: Fraction, converter: Converter) -> str:
    return say_short(abs(base), converter) if base else NONE


def _come_to(base: Fraction, words: str, converter: Converter) -> Fraction:
    """Return what words come to as they stand, with the sign of what they are of."""
    if not base:
        return Fraction(0)
    size_base = converter.to_base(words.removeprefix(ABOUT))
    return size_base if base > 0 else -size_base


def amount_words(amount_base: Amount, converter: Converter) -> str:
    """Return an amount as people say it: 2 lb, 3 eggs, none, minus 1 lb.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> eggs = compile_converter(read_item_measures("eggs", "count"))
    >>> amount_words(Fraction(3), eggs)
    '3 eggs'
    """
    said = with_noun(spoken_words(abs(Fraction(amount_base)), converter), converter)
    return negative(said) if amount_base < 0 else said


def stated_amount_words(amount_base: Amount, converter: Converter) -> str:
    """Return an amount that is not below nothing, not rounded: 9 lb 14 3/4 oz, none."""
    return with_noun(stated_words(Fraction(amount_base), converter), converter)
