"""What to say of a name that nothing has: the nearest known names, if any is near.

Names are compared word by word, because that is how they are cut short or mixed up
("lemon cake" for a lemon curd cake). A word counts the more the fewer names have it,
so that every cake is not like every other by its last word.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from typing import Protocol

from django.utils.translation import gettext as _
from rapidfuzz import fuzz, process, utils

# All of 0 to 1, our choice. Below the first a known name is no longer what was
# probably meant; below the second two words are different words.
NEAR_ENOUGH = 0.7
SAME_WORD = 0.75
# Names that are cut into words otherwise (butter milk) are compared letter by letter,
# and have to be more alike than that.
SAME_LETTERS = 0.85
# How much of a likeness what was typed makes up, the rest being the known name's
# words that were not typed.
TYPED_SHARE = 0.85
MOST_LOOKED_AT = 25  # of the most alike by a quicker look, word by word
MOST_LISTED = 3  # of what exists, where nothing is like what was typed
LONGEST_QUOTED = 120  # letters; no name is longer


class Person(Protocol):
    """Somebody who signs in."""

    def get_username(self) -> str:
        """Return the name they sign in with."""


def person_name(person: Person | None, *, unknown: str = "") -> str:
    """Return what people are called everywhere: their full name, else their sign-in.

    `unknown` is said of what nobody has done.
    """
    if person is None:
        return unknown
    full_name = getattr(person, "get_full_name", str)()
    return full_name or person.get_username()


def capitalized(words: str) -> str:
    """Return words as they begin a sentence or a heading, whatever was typed.

    >>> capitalized("sour cream: 1 tub on record")
    'Sour cream: 1 tub on record'
    """
    return words[:1].upper() + words[1:]


@dataclass(frozen=True, slots=True)
class _Weights:
    """How much each word tells a name from the others."""

    names: int
    names_by_word: Counter[str]

    def of(self, word: str) -> float:
        return log(1 + self.names / max(self.names_by_word[word], 1))


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that is most like this one, if any is like it.

    >>> nearest("buter", ["butter", "bread flour"])
    'butter'
    """
    return next(iter(most_alike(name, known, most=1)), None)


def nearest_word(word: str, known: Iterable[str]) -> str | None:
    """Return the known word that is spelled most like this one, if any is like it.

    >>> nearest_word("teasp", ["tsp", "cup"]), nearest_word("zz", ["tsp", "cup"])
    ('tsp', None)
    """
    found = process.extractOne(
        word, list(known), scorer=fuzz.ratio, score_cutoff=100 * SAME_WORD
    )
    return found[0] if found else None


def most_alike(name: str, known: Iterable[str], *, most: int) -> list[str]:
    """Return the known names that are like this one, the most alike first.

    >>> most_alike("lemon cake", ["Vanilla cake", "Lemon curd cake"], most=3)
    ['Lemon curd cake']
    """
    words = {each: _words(each) for each in known}
    counted = Counter(word for each in words.values() for word in {*each})
    typed, weights = _words(name), _Weights(len(words), counted)
    looked_at = process.extract(
        name, list(words), processor=utils.default_process, limit=MOST_LOOKED_AT
    )
    likeness = {
        each: max(_by_word(typed, words[each], weights), _by_letter(typed, words[each]))
        for each, *_ in looked_at
    }
    near = [each for each in words if likeness.get(each, 0.0) >= NEAR_ENOUGH]
    return sorted(near, key=lambda each: -likeness[each])[:most]


def offered(name: str, known: Iterable[str], *, most: int) -> str:
    """Return what to say behind the sentence that nothing has a name.

    Names that are like it are asked about; without any, the nearest are said.

    >>> offered("yeast", ["butter", "salt"], most=3)
    ' The nearest are salt and butter.'
    """
    names = list(dict.fromkeys(known))
    if alike := most_alike(name, names, most=most):
        return _(" Did you mean {alike}?").format(alike=" or ".join(alike))
    processor = utils.default_process
    found = process.extract(name, names, processor=processor, limit=most)
    *others, last = [each for each, *_other in found] or [""]
    if not others:
        return _(" There is only {last}.").format(last=last) if last else ""
    return _(" The nearest are {others} and {last}.").format(
        others=", ".join(others), last=last
    )


def unknown(noun: str, name: str, known: Iterable[str]) -> str:
    """Return the sentence for a name that nothing has, and what there is.

    >>> unknown("item", "buter", ["butter"])
    'There is no item "buter". Did you mean butter?'
    >>> unknown("place", "garage", ["walk-in", "pantry"])
    'There is no place "garage". The nearest are pantry and walk-in.'
    """
    if len(name) > LONGEST_QUOTED:
        name = f"{name[:LONGEST_QUOTED]}…"
    known_names = list(known)
    near = nearest(name, known_names)
    way_out = _(" Did you mean {near}?").format(near=near) if near else ""
    way_out = way_out or offered(name, known_names, most=MOST_LISTED)
    return _('There is no {noun} "{name}".{way_out}').format(
        noun=noun, name=name, way_out=way_out
    )


def _words(name: str) -> list[str]:
    return utils.default_process(name.replace("_", " ")).split()


def _by_letter(typed: Sequence[str], known: Sequence[str]) -> float:
    """Return how alike two names are as one word each: butermilk, butter milk."""
    like = fuzz.ratio("".join(typed), "".join(known)) / 100
    return like if like >= SAME_LETTERS else 0.0


def _by_word(typed: Sequence[str], known: Sequence[str], weights: _Weights) -> float:
    """Return how alike two names are by the words that they share."""
    of_typed = _covered(typed, known, weights, is_known=False)
    of_known = _covered(known, typed, weights, is_known=True)
    return TYPED_SHARE * of_typed + (1 - TYPED_SHARE) * of_known


def _covered(
    words: Sequence[str], others: Sequence[str], weights: _Weights, *, is_known: bool
) -> float:
    """Return the share of some words that has its like among others, by weight."""
    met = total = 0.0
    for word in words:
        like, other = max(
            ((fuzz.ratio(word, other) / 100, other) for other in others),
            default=(0.0, ""),
        )
        is_met = like >= SAME_WORD
        weight = weights.of(word if is_known or not is_met else other)
        total += weight
        met += weight * like * is_met
    return met / total if total else 0.0
