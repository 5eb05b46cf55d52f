"""What an item says about its own measures: equivalents and words of its own.

Both are measured at home: 3/4 lb is a fraction in them, and 4/5 lb, which no scoop or
cup is of, is asked about. What a pack holds is written by its supplier, who writes
3/4 lb for three of four pounds: there either is asked about.

1 cup = 125 g; 1 tbsp = 8 g          equivalents
stick = 4 oz; tub = 5 lb             words of its own
"""

import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from stock.errors import EquivalentError, MeasureError, OwnWordError
from stock.measure_faults import FaultKind, MeasureFault
from stock.measures.reading.quantity import UNIT_PATTERN, TypedQuantity, parse_quantity
from stock.measures.reading.vocabulary import Notation
from stock.measures.units import word_key

LONGEST_WORD = 40
# A text is checked and then compiled; a kitchen's items often say the same.
TEXTS_REMEMBERED = 1_000


@dataclass(frozen=True, slots=True)
class Equivalent:
    """Two quantities that come to the same for one item; either may come first."""

    left: TypedQuantity
    right: TypedQuantity

    def __str__(self) -> str:
        return f"{self.left} = {self.right}"


@lru_cache(TEXTS_REMEMBERED)
def parse_equivalents(
    text: str, notation: Notation = Notation.STOCK
) -> tuple[Equivalent, ...]:
    """Return the equivalents in a text such as `1 cup = 125 g; 1 tbsp = 8 g`.

    What somebody has just typed is read by the notation of items.

    >>> [str(equivalent) for equivalent in parse_equivalents("1 cup=125 g;")]
    ['1 cup = 125 g']
    """
    return tuple(_equivalent(part, notation) for part in _parts(text))


@lru_cache(TEXTS_REMEMBERED)
def parse_own_words(
    text: str, notation: Notation = Notation.STOCK
) -> Mapping[str, TypedQuantity]:
    """Return what each word holds in a text such as `stick = 4 oz; tub = 5 lb`.

    What somebody has just typed is read by the notation of items.

    >>> {word: str(holds) for word, holds in parse_own_words("stick = 4 oz").items()}
    {'stick': '4 oz'}
    """
    words: dict[str, TypedQuantity] = {}
    keys: set[str] = set()
    for part in _parts(text):
        word, holds = _own_word(part, notation)
        if word_key(word) in keys:
            raise OwnWordError(part, MeasureFault(FaultKind.WORD_TWICE, word))
        keys.add(word_key(word))
        words[word] = holds
    return MappingProxyType(words)


def check_word(word: str, *, example: str = "stick") -> str:
    """Return a word of the item's own, tidied, or raise why it cannot be one."""
    composed = unicodedata.normalize("NFC", word)
    tidy = " ".join(composed.replace(".", " ").split())
    if len(tidy) > LONGEST_WORD:
        raise OwnWordError(
            tidy, MeasureFault(FaultKind.WORD_TOO_LONG, str(LONGEST_WORD))
        )
    if not UNIT_PATTERN.fullmatch(tidy):
        fault = MeasureFault(FaultKind.NOT_A_WORD, such_as=(example,))
        raise OwnWordError(word.strip(), fault)
    return tidy


def is_nothing(quantity: TypedQuantity) -> bool:
    """Whether every term of the quantity is zero."""
    return not any(term.number for term in quantity.terms)


def _parts(text: str) -> Iterator[str]:
    for part in text.replace("\n", ";").split(";"):
        if part.strip():
            yield part.strip()


def _equivalent(part: str, notation: Notation) -> Equivalent:
    left, equals, right = part.partition("=")
    if not equals or "=" in right:
        raise EquivalentError(part, MeasureFault(FaultKind.NOT_TWO_SIDES))
    try:
        equivalent = Equivalent(
            parse_quantity(left.strip(), notation),
            parse_quantity(right.strip(), notation),
        )
    except MeasureError as error:
        raise EquivalentError(part, error) from error
    if is_nothing(equivalent.left) or is_nothing(equivalent.right):
        raise EquivalentError(part, MeasureFault(FaultKind.SIDE_IS_NOTHING))
    return equivalent


def _own_word(part: str, notation: Notation) -> tuple[str, TypedQuantity]:
    left, equals, right = part.partition("=")
    if not equals or "=" in right:
        raise OwnWordError(part, MeasureFault(FaultKind.NOT_WORD_AND_AMOUNT))
    word = check_word(left)
    try:
        holds = parse_quantity(right.strip(), notation)
    except MeasureError as error:
        raise OwnWordError(part, error) from error
    if is_nothing(holds):
        raise OwnWordError(part, MeasureFault(FaultKind.HOLDS_NOTHING, word))
    return word, holds
