"""The unit that stands beside a count's field, and that a bare number there means.

Nothing is guessed: what was chosen for the item, else what it was counted in last,
else its smallest whole thing. What is weighed or poured and comes in nothing whole, or
only in big packs, has none, and a bare number of it is asked about.
"""

import re
from collections.abc import Mapping
from fractions import Fraction

from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.nouns import singular
from stock.measures.reading.quantity import Quantity
from stock.measures.reading.spoken import read_spoken
from stock.measures.reading.systems import bare_units
from stock.measures.units import UNIT_BY_WORD, Measure, plural, word_key

# Own words that measure something out; nobody counts a shelf in them. Our choice.
MEASURING_WORDS = frozenset(
    [
        *("scoop", "pinch", "dash", "drop", "splash", "handful", "ladle", "slice"),
        *("dipper", "spoon", "spoonful", "cupful", "knob"),
    ]
)
# What is weighed or poured is counted whole up to a bag of 5 lb or a jug of a gallon;
# of a larger pack the shelf and its record say pounds or quarts. Our choice.
LARGEST_WHOLE_BASE = {Measure.MASS: 2_500, Measure.VOLUME: 5_000}
LENGTH_WORDS = frozenset(["in", "inch", "inches", "cm"])
# So many of a thing, as amounts are worded.
EACH = re.compile(r"(\d[\d ./]*) each\b")


def counting_unit(
    converter: Converter, *, chosen: str = "", counted_last: str | None = None
) -> str | None:
    """Return the unit beside an item's field; None where a bare number is asked about.

    `chosen` is what somebody chose for the item, `counted_last` what the last count
    said of it, as typed. Either is passed over where the item has no such word now,
    and a count that took several units together says nothing.
    """
    if chosen and is_known(chosen, converter):
        return chosen
    return unit_of(counted_last or "", converter) or smallest_whole(converter)


def smallest_whole(converter: Converter) -> str | None:
    """Return the smallest whole thing that an item comes in: each, stick, bag.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> words = "bag = 5 lb; scoop = 1 lb"
    >>> flour = read_item_measures("flour", "mass", own_units=words)
    >>> smallest_whole(compile_converter(flour))
    'bag'
    """
    wholes = {
        own.word: own.holds_base
        for own in converter.own_words
        if own.is_pack or word_key(own.word) not in MEASURING_WORDS
    }
    largest_base = LARGEST_WHOLE_BASE.get(converter.measure)
    if largest_base is not None:
        wholes = {word: base for word, base in wholes.items() if base <= largest_base}
    each_base = converter.base_by_unit.get("each")
    if each_base is not None and each_base not in wholes.values():
        wholes["each"] = each_base
    if converter.measure is Measure.COUNT:
        wholes = {word: base for word, base in wholes.items() if base == 1}
    return min(wholes, key=lambda word: wholes[word], default=None)


def unit_choices(converter: Converter) -> tuple[str, ...]:
    """Return the units to choose from, smallest first."""
    units = {word: converter.unit_base(word) for word in bare_units(converter)}
    smallest = smallest_whole(converter)
    if smallest is not None:
        units[smallest] = converter.unit_base(smallest)
    return tuple(sorted(units, key=lambda word: units[word]))


def unit_of(text: str, converter: Converter) -> str | None:
    """Return the one unit that a text counts in; None for several, or for none.

    Figures of one unit that were added up count in it: `2 lb + 3 lb`.
    """
    try:
        spoken = read_spoken(text, converter, {})
    except MeasureError:
        return None
    if spoken is None or spoken.is_none:
        return None
    units = {term.unit for term in spoken.quantity.terms}
    return units.pop() if len(units) == 1 else None


def is_known(unit: str, converter: Converter) -> bool:
    """Whether the item can be counted in a unit."""
    try:
        converter.unit_base(unit)
    except MeasureError:
        return False
    return True


def noun(converter: Converter) -> tuple[str, str] | None:
    """Return what one of a counted item is called, and more of it.

    None for what is not counted one by one or has a word of its own for one. A size
    in a name is no part of its noun: of `6 in board` there are boards.

    >>> from stock.measures.compiling import compile_converter, read_item_measures
    >>> noun(compile_converter(read_item_measures("Lemons, organic", "count")))
    ('lemon', 'lemons')
    """
    head = re.split(r"[,(;/]", converter.item_name.casefold(), maxsplit=1)[0].split()
    has_own = any(own.holds_base == 1 for own in converter.own_words)
    if converter.measure is not Measure.COUNT or has_own or not head:
        return None
    sized = [place for place, word in enumerate(head) if _is_size(word)]
    if sized:
        head = head[sized[-1] + 1 :] or head[: sized[0]]
    if not head:
        return None
    *before, last = head
    one = singular(last)
    is_soft = one.endswith("y") and one[-2:-1] not in "aeiou"
    more = f"{one[:-1]}ies" if is_soft else plural(one)
    return " ".join([*before, one]), " ".join([*before, last if last != one else more])


def piece_words(converter: Converter) -> tuple[str, str] | None:
    """Return what one piece of an item is called, and more: its noun or own word."""
    for own in converter.own_words:
        if converter.measure is Measure.COUNT and own.holds_base == 1:
            return own.word, plural(own.word)
    return noun(converter)


def _is_size(word: str) -> bool:
    """Whether a word of a name is of a size: the 6 and the in of `6 in board`."""
    is_number = any(character.isdigit() for character in word)
    return is_number or word in LENGTH_WORDS or word_key(word) in UNIT_BY_WORD


def with_noun(words: str, converter: Converter) -> str:
    """Return an amount with the item's noun in place of each: 3 flats + 9 eggs."""
    named = piece_words(converter)
    if named is None:
        return words
    one, more = named

    def said(match: re.Match[str]) -> str:
        is_one = match[1] == "1" or re.fullmatch(r"\d+/\d+", match[1])
        return f"{match[1]} {one if is_one else more}"

    return EACH.sub(said, words)


def without_noun(words: str, converter: Converter) -> str:
    """Return what `with_noun` said in words that every quantity is read by."""
    named = noun(converter)
    if named is None:
        return words
    return re.sub(rf"\b(?:{re.escape(named[1])}|{re.escape(named[0])})$", "each", words)


def with_unit(
    text: str,
    converter: Converter,
    tares: Mapping[str, Quantity] | None,
    unit: str | None,
) -> str:
    """Return a text that reads the same beside any field: a bare number with its unit.

    So does what a counting unit settles: `1 case 5`, or the c of what is counted in
    cases. Any other text is returned as it is, readable or not.
    """
    if not unit:
        return text
    try:
        beside = read_spoken(text, converter, tares, counting_unit=unit)
    except MeasureError:
        return text
    if beside is None:
        return text
    for whole in (text, f"{text.strip()} {unit}"):
        if _amount_base(whole, converter, tares) == beside.amount_base:
            return whole
    return beside.whole_text


def _amount_base(
    text: str, converter: Converter, tares: Mapping[str, Quantity] | None
) -> Fraction | None:
    try:
        spoken = read_spoken(text, converter, tares)
    except MeasureError:
        return None
    return None if spoken is None else spoken.amount_base
