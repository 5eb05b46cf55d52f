"""What a typed word means for an item: a unit, a word of its own, or a question.

    exactly a word of the item's own        that word (it may stand in for a unit)
    the name of the item                    each, where the item can be counted
    a unit, in full or in short             that unit
    first letters, or the consonants        the word of its own, else the unit, that
                                            alone begins so: ca, bx, cs, qu

Where the short form of a unit is also short for a word of the item's own, where letters
fit several words, and for letters that mean one unit to some and another to others
(T, t, G, oz of what is kept by volume), every meaning is returned, the likelier first:
a person chooses. Only at the shelf do letters do; elsewhere they are asked about.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from stock.measures.item_units import ItemUnits, OwnWord
from stock.measures.nouns import pack_word
from stock.measures.reading.vocabulary import GRAMMAR_WORDS, UNITS_BY_DOUBTFUL, Notation
from stock.measures.units import (
    LONG_NAMES,
    OZ_BY_WEIGHT,
    UNIT_BY_BEGINNING,
    UNIT_BY_WORD,
    UNITS,
    Measure,
    word_forms,
    word_key,
)

VOWELS = frozenset("aeiou")
LONGEST_ABBREVIATION = 4
# Longer forms of a unit are words; shorter ones may be short for something else.
LONGEST_SHORT_FORM = 3
SHORT_FORMS = frozenset(
    form for form in UNIT_BY_WORD if len(form) <= LONGEST_SHORT_FORM and form != "cup"
)


@dataclass(frozen=True, slots=True)
class Meanings:
    """The words that were meant, the likelier first; doubtful: even one is asked."""

    words: tuple[str, ...] = ()
    is_doubtful: bool = False


def is_exact(key: str, converter: ItemUnits) -> bool:
    """Whether a key is a word of the item's own or a unit in one of its forms."""
    return key in converter.own_by_form or key in UNIT_BY_WORD


def meanings(
    typed: str,
    converter: ItemUnits,
    notation: Notation,
    counting_unit: str | None = None,
) -> Meanings:
    """Return what a word can mean; nothing where the item knows no such word.

    A counting unit that is among several meanings is the one that is meant.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> butter = compile_converter(
    ...     read_item_measures("butter", "mass", own_units="stick = 4 oz")
    ... )
    >>> meanings("st", butter, Notation.COUNT).words
    ('stick',)
    """
    found = _meanings(typed, word_key(typed), converter, notation)
    if notation is Notation.STORED:
        return found
    words = tuple(unmistaken(word, converter) for word in found.words)
    if len(words) > 1 and counting_unit in (*found.words, *words):
        return Meanings((unmistaken(counting_unit, converter),))
    return Meanings(words, found.is_doubtful)


def unmistaken(word: str, converter: ItemUnits) -> str:
    """Return a unit by a name that is short for nothing else of the item's.

    `2 L` of what is sold in loaves would be asked about again: 2 liters is not. Nor is
    a box pack, where boxes are packed in boxes.
    """
    if own := converter.own_by_form.get(word_key(word)):
        return pack_word(own.word) if _may_be_each(own, converter) else own.word
    if word == "oz" and converter.measure is Measure.VOLUME:
        return OZ_BY_WEIGHT
    is_short = word_key(word) in SHORT_FORMS
    if is_short and _own_begun_by(word_key(word), converter):
        return LONG_NAMES.get(word, word)
    return word


def _meanings(
    typed: str, key: str, converter: ItemUnits, notation: Notation
) -> Meanings:
    if own := converter.own_by_form.get(key):
        return _own_or_each(own.word, key, converter, notation)
    found = _of_units(typed, key, converter, notation)
    if not found.words and key in converter.noun_forms and _takes("each", converter):
        found = Meanings(("each",))
    if notation is not Notation.STORED and key not in GRAMMAR_WORDS:
        found = _with_own(found, key, converter, notation)
    return found


def _own_or_each(
    word: str, key: str, converter: ItemUnits, notation: Notation
) -> Meanings:
    """Ask where boxes are packed in boxes: 12 of them, or 12 packs."""
    own = converter.own_by_form[key]
    is_clear = notation is Notation.STORED or key not in converter.noun_forms
    if is_clear or not _may_be_each(own, converter):
        return Meanings((word,))
    return Meanings((word, "each"))


def _may_be_each(own: OwnWord, converter: ItemUnits) -> bool:
    """Whether a word is also what the item itself is called: a box of boxes."""
    each_base = converter.amount_of("each")
    is_noun = word_key(own.word) in converter.noun_forms
    return is_noun and each_base is not None and each_base != own.holds_base


def _of_units(
    typed: str, key: str, converter: ItemUnits, notation: Notation
) -> Meanings:
    bare = typed.replace(".", "").strip()
    if bare in UNITS_BY_DOUBTFUL:
        return Meanings(
            tuple(_takeable(UNITS_BY_DOUBTFUL[bare], converter)), is_doubtful=True
        )
    unit = UNIT_BY_WORD.get(key)
    if unit is None:
        return Meanings()
    if notation is Notation.STORED:
        return Meanings((unit.word,))
    by_volume = converter.measure is Measure.VOLUME
    if unit.word == "oz" and by_volume and notation is Notation.COUNT:
        if key == OZ_BY_WEIGHT:
            return Meanings((unit.word,))
        return Meanings(tuple(_takeable(("fl oz", "oz"), converter)), is_doubtful=True)
    if bare == "G" and (by_volume or notation is Notation.COUNT):
        order = ("gallon", "g") if by_volume else ("g", "gallon")
        words = tuple(_takeable(order, converter))
        return Meanings(words, is_doubtful=words != ("g",)) if words else Meanings()
    if key == "gr":
        words = tuple(_takeable(("g", "gross"), converter))
        return Meanings(words or (unit.word,))
    return Meanings((unit.word,))


def _with_own(
    found: Meanings, key: str, converter: ItemUnits, notation: Notation
) -> Meanings:
    """Add the words that the letters are short for; those of its own go first."""
    takes = any(_takes(word, converter) for word in found.words)
    if found.words and takes and not (found.is_doubtful or key in SHORT_FORMS):
        return found
    own = _own_begun_by(key, converter)
    if own and not takes:
        found = Meanings()
    elif not own and not found.words and not found.is_doubtful:
        own = _units_begun_by(key, converter)
    letters_do = notation is Notation.COUNT
    each = ["each"] if _any_may_be_each(own, converter) else []
    words = _one_of_each_amount([*own, *found.words, *each], converter)
    is_doubtful = found.is_doubtful or (bool(own) and not letters_do)
    return Meanings(tuple(words), is_doubtful)


def _any_may_be_each(words: Iterable[str], converter: ItemUnits) -> bool:
    known = (converter.own_by_form.get(word_key(word)) for word in words)
    return any(own is not None and _may_be_each(own, converter) for own in known)


def _own_begun_by(key: str, converter: ItemUnits) -> list[str]:
    return [
        own.word
        for own in converter.own_words
        if any(form.startswith(key) for form in word_forms(own.word))
        or is_abbreviation(key, word_key(own.word))
    ]


def is_abbreviation(key: str, word: str) -> bool:
    """Whether letters are a word's first and some consonants of it, or such an s.

    >>> is_abbreviation("bx", "box"), is_abbreviation("cs", "case")
    (True, True)
    >>> is_abbreviation("bgs", "bag"), is_abbreviation("ca", "carton")
    (True, False)
    """
    return _is_skeleton(key, word) or (
        key.endswith("s") and _is_skeleton(key[:-1], word)
    )


def _is_skeleton(key: str, word: str) -> bool:
    if not 2 <= len(key) <= LONGEST_ABBREVIATION or key[0] != word[0]:
        return False
    rest = iter(word[1:])
    return all(
        letter.isalpha() and letter not in VOWELS and letter in rest
        for letter in key[1:]
    )


def _units_begun_by(key: str, converter: ItemUnits) -> list[str]:
    return sorted(
        {
            unit.word
            for form, unit in UNIT_BY_BEGINNING.items()
            if form.startswith(key) and _takes(unit.word, converter)
        },
        key=lambda word: (not _is_own_measure(word, converter), len(word), word),
    )


def _one_of_each_amount(words: Iterable[str], converter: ItemUnits) -> Iterator[str]:
    """Leave out a second word for the same amount: nothing is to be chosen there."""
    seen = set()
    for word in words:
        base = converter.amount_of(word)
        if base is None or base not in seen:
            seen.add(base)
            yield word


def _takeable(words: Iterable[str], converter: ItemUnits) -> Iterator[str]:
    return (word for word in words if _takes(word, converter))


def _takes(word: str, converter: ItemUnits) -> bool:
    return converter.amount_of(word) is not None


def _is_own_measure(word: str, converter: ItemUnits) -> bool:
    return UNITS[word].measure is converter.measure
