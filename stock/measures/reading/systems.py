"""In which units an item is spoken of: the kitchen's own, else those of its packs."""

from collections.abc import Mapping
from enum import StrEnum

from stock.measures.item_units import ItemUnits
from stock.measures.units import UNIT_BY_WORD, Measure, word_key


class System(StrEnum):
    """Which units a person would rather hear."""

    CUSTOMARY = "customary"
    METRIC = "metric"


CUSTOMARY_WORDS = frozenset(
    ["oz", "lb", "tsp", "tbsp", "fl oz", "cup", "pint", "quart", "gallon"]
)
METRIC_WORDS = frozenset(["g", "kg", "mL", "cL", "dL", "L"])
# What people weigh, pour and count in.
EVERYDAY_UNITS: Mapping[tuple[Measure, System], tuple[str, ...]] = {
    (Measure.MASS, System.CUSTOMARY): ("lb", "oz"),
    (Measure.MASS, System.METRIC): ("kg", "g"),
    (Measure.VOLUME, System.CUSTOMARY): ("quart", "cup"),
    (Measure.VOLUME, System.METRIC): ("L", "mL"),
    (Measure.COUNT, System.CUSTOMARY): ("each",),
    (Measure.COUNT, System.METRIC): ("each",),
}


def speaks_in_dozens(converter: ItemUnits) -> bool:
    """Whether the item's packs or own words are given in dozens."""
    return _speaks_of(converter, frozenset(["dozen"]))


def system_of(converter: ItemUnits) -> System:
    """Return the units that an item is said in, wherever it is said.

    Those that the kitchen types its par or safety in, whatever its packs come in; else
    those of its packs and own words; where these tell neither, those that its recipe
    or its part's yield is written in; else metric.
    """
    if converter.held_in:
        return System(converter.held_in)
    if _speaks_of(converter, CUSTOMARY_WORDS):
        return System.CUSTOMARY
    if not converter.speaks or _speaks_of(converter, METRIC_WORDS):
        return System.METRIC
    return System(converter.speaks)


def _speaks_of(converter: ItemUnits, words: frozenset[str]) -> bool:
    return any(
        unit.word in words
        for own in converter.own_words
        for term in own.holds.terms
        if (unit := UNIT_BY_WORD.get(word_key(term.unit)))
    )


def _is_known(converter: ItemUnits) -> bool:
    return bool(converter.own_words or converter.held_in or converter.speaks)


def bare_units(converter: ItemUnits) -> tuple[str, ...]:
    """Return the units that a bare number of the item may mean, smallest first.

    Its own words, and the units that people weigh, pour or count it in; where no
    word of its own shows which, pounds and kilograms both.
    """
    system = system_of(converter)
    systems = (system,) if _is_known(converter) else tuple(System)
    everyday = [
        unit for each in systems for unit in EVERYDAY_UNITS[converter.measure, each]
    ]
    if speaks_in_dozens(converter):
        everyday.append("dozen")
    words = {own.word: own.holds_base for own in converter.own_words}
    for unit in everyday:
        words.setdefault(unit, converter.base_by_unit[unit])
    return tuple(sorted(words, key=lambda word: words[word]))
