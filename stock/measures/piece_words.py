"""What one piece of an item is called: 39 lemons, where units would say 39 each."""

import re

from stock.measures.item_units import ItemUnits
from stock.measures.nouns import head_words, singular
from stock.measures.reading.tokens import FRACTION_BY_CHAR
from stock.measures.units import Measure, plural

# So many of a thing, as amounts are worded; and what of them is one, or part of one.
VULGAR = "".join(FRACTION_BY_CHAR)
EACH = re.compile(rf"([\d{VULGAR}][\d ./{VULGAR}]*)( of a)? each\b")
ONE_AT_MOST = re.compile(rf"1|0?\.\d+|\d+/\d+|[{VULGAR}]")
VOWELS = "aeiou"


def noun(converter: ItemUnits) -> tuple[str, str] | None:
    """Return what one of a counted item is called, and more of it.

    None for what is not counted one by one or has a word of its own for one. A size
    in a name is no part of its noun: of `6 in board` there are boards.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> noun(compile_converter(read_item_measures("Lemons, organic", "count")))
    ('lemon', 'lemons')
    """
    head = head_words(converter.item_name)
    has_own = any(own.holds_base == 1 for own in converter.own_words)
    if converter.measure is not Measure.COUNT or has_own or not head:
        return None
    *before, last = head
    one = singular(last)
    is_soft = one.endswith("y") and one[-2:-1] not in VOWELS
    more = f"{one[:-1]}ies" if is_soft else plural(one)
    return " ".join([*before, one]), " ".join([*before, last if last != one else more])


def piece_words(converter: ItemUnits) -> tuple[str, str] | None:
    """Return what one piece of an item is called, and more: its noun or own word."""
    for own in converter.own_words:
        if converter.measure is Measure.COUNT and own.holds_base == 1:
            return own.word, plural(own.word)
    return noun(converter)


def with_noun(words: str, converter: ItemUnits) -> str:
    """Return an amount with the item's noun in place of each: 3 flats + 9 eggs."""
    named = piece_words(converter)
    if named is None:
        return words
    one, more = named

    def said(match: re.Match[str]) -> str:
        number, of = match[1], match[2] or ""
        if of and one[0] in VOWELS:
            of = f"{of}n"
        return f"{number}{of} {one if ONE_AT_MOST.fullmatch(number) else more}"

    return EACH.sub(said, words)


def without_noun(words: str, converter: ItemUnits) -> str:
    """Return what `with_noun` said in words that every quantity is read by."""
    named = noun(converter)
    if named is None:
        return words
    return re.sub(rf"\b(?:{re.escape(named[1])}|{re.escape(named[0])})$", "each", words)
