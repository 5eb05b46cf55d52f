"""The unit that stands beside a count's field, and that a bare number there means.

Nothing is guessed: what was chosen for the item, else what it was counted in last,
else its smallest whole thing. What is weighed or poured and comes in nothing whole, or
only in big packs, has none, and a bare number of it is asked about.
"""

from collections.abc import Mapping
from fractions import Fraction

from stock.errors import MeasureError
from stock.measures.conversion import Converter
from stock.measures.reading.quantity import TypedQuantity
from stock.measures.reading.spoken import read_spoken
from stock.measures.reading.systems import bare_units
from stock.measures.units import Measure, word_key

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


def with_unit(
    text: str,
    converter: Converter,
    tares: Mapping[str, TypedQuantity] | None,
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
    text: str, converter: Converter, tares: Mapping[str, TypedQuantity] | None
) -> Fraction | None:
    try:
        spoken = read_spoken(text, converter, tares)
    except MeasureError:
        return None
    return None if spoken is None else spoken.amount_base
