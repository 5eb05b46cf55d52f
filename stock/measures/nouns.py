"""What an item is called when it is counted: 24 eggs, 2 dozen eggs, 3 lb of butter."""

import re
from functools import lru_cache

from stock.measures.units import word_forms, word_key

# Plurals that lose more than an s, longest first.
ENDINGS = (("ies", "y"), ("oes", "o"), ("sses", "ss"), ("xes", "x"), ("zes", "z"),
           ("ches", "ch"), ("shes", "sh"), ("aves", "af"), ("lves", "lf"))  # fmt: skip
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


@lru_cache(maxsize=4_096)
def noun_forms(item_name: str) -> frozenset[str]:
    """Return the keys of what one of an item is called, and of more.

    The last word before a comma or a bracket: `Eggs, large` are eggs.

    >>> sorted(noun_forms("Lemons (organic)"))
    ['lemon', 'lemons']
    """
    head = re.split(r"[,(;/]", item_name, maxsplit=1)[0]
    words = NAME_WORD.findall(word_key(head))
    return _forms(words[-1]) if words else frozenset()


@lru_cache(maxsize=4_096)
def name_forms(item_name: str) -> frozenset[str]:
    """Return the keys of all the words in an item's name, in any number."""
    words = NAME_WORD.findall(word_key(item_name))
    return frozenset(form for word in words for form in _forms(word))


def pack_word(word: str) -> str:
    """Return what a pack is called whose word is also the item's: a box pack."""
    return f"{word} pack"


def _forms(word: str) -> frozenset[str]:
    one = singular(word)
    many = {f"{one[:-1]}ies"} if one.endswith("y") else set()
    return word_forms(one) | many | {word}
