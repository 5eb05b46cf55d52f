"""What an item is called when it is counted: 24 eggs, 2 dozen eggs, 3 lb of butter.

What one piece of an item is called: 39 lemons, where units would say 39 each.
"""

import re
from collections.abc import Sequence
from functools import lru_cache

from stock.measures.item_units import ItemUnits
from stock.measures.reading.tokens import FRACTION_BY_CHAR
from stock.measures.units import UNIT_BY_WORD, Measure, plural, word_forms, word_key

# Plurals that lose more than an s, longest first.
ENDINGS = (("ies", "y"), ("oes", "o"), ("sses", "ss"), ("xes", "x"), ("zes", "z"),
           ("ches", "ch"), ("shes", "sh"), ("aves", "af"), ("lves", "lf"))  # fmt: skip
LENGTH_WORDS = frozenset(["in", "inch", "inches", "cm"])
NAME_WORD = re.compile(r"[^\W\d_]+")


def singular(word: str) -> str:
    """Return a word of a name for one of it.

    >>> [singular(word) for word in ("eggs", "berries", "boxes", "loaves", "glass")]
    ['egg', 'berry', 'box', 'loaf', 'glass']
    """
    for ending, one in ENDINGS:
        if word.endswith(ending) and len(word) > len(ending) + 1:
            return word.removesuffix(ending) + one
    if word.endswith("s") and not word.endswith("ss") and len(word) > 2:
        return word[:-1]
    return word


def head_words(item_name: str) -> list[str]:
    """Return the words that name one of an item, the noun last, without its size.

    A number is of a size, and so is the unit behind it: of `6 in board` there are
    boards, of `2 oz portion cup` portion cups.

    >>> head_words("10 in cake box"), head_words("Eggs, large")
    (['cake', 'box'], ['eggs'])
    """
    words = re.split(r"[,(;/]", item_name, maxsplit=1)[0].casefold().split()
    sized = [place for place in range(len(words)) if _is_size(words, place)]
    if not sized:
        return words
    return words[sized[-1] + 1 :] or words[: sized[0]]


@lru_cache(maxsize=4_096)
def noun_forms(item_name: str) -> frozenset[str]:
    """Return the keys of what one of an item is called, and of more.

    The last word before a comma, a bracket or a size: `Eggs, large` are eggs.

    >>> sorted(noun_forms("Lemons (organic)"))
    ['lemon', 'lemons']
    """
    words = NAME_WORD.findall(word_key(" ".join(head_words(item_name))))
    return _forms(words[-1]) if words else frozenset()


@lru_cache(maxsize=4_096)
def name_forms(item_name: str) -> frozenset[str]:
    """Return the keys of all the words in an item's name, in any number."""
    words = NAME_WORD.findall(word_key(item_name))
    return frozenset(form for word in words for form in _forms(word))


def pack_word(word: str) -> str:
    """Return what a pack is called whose word is also the item's: a box pack."""
    return f"{word} pack"


def _is_size(words: Sequence[str], place: int) -> bool:
    """Whether a word of a name is of a size: the 6 and the in of `6 in board`."""
    word = words[place]
    if any(character.isdigit() for character in word):
        return True
    is_unit = word in LENGTH_WORDS or word_key(word) in UNIT_BY_WORD
    return is_unit and place > 0 and any(map(str.isdigit, words[place - 1]))


def _forms(word: str) -> frozenset[str]:
    one = singular(word)
    many = {f"{one[:-1]}ies"} if one.endswith("y") else set()
    return word_forms(one) | many | {word}


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
