"""What an item is called when it is counted: 24 eggs, 2 dozen eggs, 3 lb of butter."""

import re
from collections.abc import Sequence
from functools import lru_cache

from stock.measures.units import UNIT_BY_WORD, word_forms, word_key

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
