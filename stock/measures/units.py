"""The kitchen's units: one pint registry, compiled once into a plain table.

Units are US customary and exact. `oz` is always a weight; `fl oz` is the volume.
Nothing outside this module asks pint anything while it converts.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cache, lru_cache
from types import MappingProxyType

import pint

# Each is a kind of its own, so that eggs and grams can never be added.
# Pinch and dash: common practice, no source. Dry pint and dry quart are pint's own: a
# dry quart has 67.200625 cubic inches (NIST Handbook 44, Appendix C), a dry pint half.
KITCHEN_DEFINITIONS = (
    "each = [piece]",
    "dozen = 12 each",
    "gross = 144 each",
    "pinch = teaspoon / 16",
    "dash = teaspoon / 8",
)

# What an oz of a liquid is called where it might be taken for a fl oz.
OZ_BY_WEIGHT = "oz weight"
# The word that we show, pint's name for it, other words for the same, and what is
# short for it on invoices and lists.
MASS_WORDS = (
    ("g", "gram", ("gram", "gramme"), ("gr", "gm")),
    ("kg", "kilogram", ("kilogram", "kilogramme", "kilo"), ()),
    ("oz", "ounce", ("ounce",), (OZ_BY_WEIGHT, "oz wt")),
    ("lb", "pound", ("pound",), ()),
)
VOLUME_WORDS = (
    ("mL", "milliliter", ("milliliter", "millilitre"), ("cc",)),
    ("cL", "centiliter", ("centiliter", "centilitre"), ()),
    ("dL", "deciliter", ("deciliter", "decilitre"), ()),
    ("L", "liter", ("liter", "litre"), ("ltr",)),
    ("pinch", "pinch", (), ()),
    ("dash", "dash", (), ()),
    ("tsp", "teaspoon", ("teaspoon",), ()),
    ("tbsp", "tablespoon", ("tablespoon", "tbs"), ("tbl", "tblsp")),
    ("fl oz", "fluid_ounce", ("floz", "fl ounce", "fluid oz", "fluid ounce"), ()),
    ("cup", "cup", (), ("c",)),
    ("pint", "pint", ("pt",), ()),
    ("dry pint", "dry_pint", ("dry pt",), ()),
    ("quart", "quart", ("qt",), ()),
    ("dry quart", "dry_quart", ("dry qt",), ()),
    ("gallon", "gallon", ("gal",), ()),
)
COUNT_WORDS = (
    ("each", "each", ("ea",), ("pc", "piece", "ct", "count")),
    ("dozen", "dozen", ("doz", "dz"), ()),
    ("gross", "gross", (), ()),
)
# First letters stand for these; `p` for a pound and a pint, but for no piece.
NO_FIRST_LETTERS = frozenset(["cL", "dL", "dry pint", "dry quart", "gross"])
# A plural after these takes -es: boxes, pinches, dashes.
SIBILANTS = ("s", "x", "z", "ch", "sh")
# After these the f turns into -ves: loaves, halves, shelves.
SOFT_ENDINGS = ("af", "lf")
# These stay as they are in any number: 5 lb, 2 dozen.
UNCHANGING = frozenset(
    [
        *("g", "kg", "oz", "lb", "mL", "cL", "dL", "L", "tsp", "tbsp", "fl oz"),
        *("each", "dozen", "gross", OZ_BY_WEIGHT),
    ]
)


class Measure(StrEnum):
    """How an item is kept; each measure has one base unit."""

    MASS = "mass"
    VOLUME = "volume"
    COUNT = "count"

    @property
    def base_unit(self) -> str:
        """g, mL or each."""
        return BASE_UNITS[self]

    @property
    def kept_by(self) -> str:
        """The word for it in a sentence: kept by weight."""
        return "weight" if self is Measure.MASS else self.value


BASE_UNITS: Mapping[Measure, str] = MappingProxyType(
    {Measure.MASS: "g", Measure.VOLUME: "mL", Measure.COUNT: "each"}
)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of the kitchen: `per_unit_base` is 1 of it in g, mL or each."""

    word: str
    measure: Measure
    per_unit_base: Fraction


# A page asks for the same few words thousands of times.
@lru_cache(maxsize=4_096)
def word_key(word: str) -> str:
    """Return a word as it is compared: without case, dots and extra spaces.

    >>> word_key(" Fl.  OZ. ")
    'fl oz'
    """
    return " ".join(word.replace(".", " ").casefold().split())


@lru_cache(maxsize=4_096)
def plural(word: str) -> str:
    """Return the word for more than one.

    >>> [plural(word) for word in ("case", "box", "loaf", "lb", "fl oz")]
    ['cases', 'boxes', 'loaves', 'lb', 'fl oz']
    """
    is_plural = word.endswith("s") and not word.endswith("ss")
    if word in UNCHANGING or is_plural:
        return word
    if word.casefold().endswith(SOFT_ENDINGS):
        return f"{word[:-1]}ves"
    return word + ("es" if word.casefold().endswith(SIBILANTS) else "s")


def word_forms(word: str) -> frozenset[str]:
    """Return every key that stands for the word: itself and its plurals.

    >>> sorted(word_forms("Box"))
    ['box', 'boxes', 'boxs']
    """
    key = word_key(word)
    forms = {key, key + "s"}
    if key.endswith(SIBILANTS):
        forms.add(key + "es")
    if key.endswith(SOFT_ENDINGS):
        forms.add(f"{key[:-1]}ves")
    return frozenset(forms)


def _kitchen_registry() -> pint.UnitRegistry[Fraction]:
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
    for definition in KITCHEN_DEFINITIONS:
        registry.define(definition)
    return registry


REGISTRY = _kitchen_registry()


def _factor(pint_name: str, base_pint_name: str) -> Fraction:
    one = REGISTRY.Quantity(Fraction(1), pint_name)
    return Fraction(one.to(base_pint_name).magnitude)


def _unit_forms(name: str) -> frozenset[str]:
    """Return a unit's forms; letters have no plural: c is a cup, but cs are cases."""
    return word_forms(name) if len(name) > 1 else frozenset([word_key(name)])


def _compiled() -> Iterator[tuple[str, Unit, bool]]:
    """Yield forms and their units, and whether a form may be given by first letters."""
    tables = (
        (Measure.MASS, "gram", MASS_WORDS),
        (Measure.VOLUME, "milliliter", VOLUME_WORDS),
        (Measure.COUNT, "each", COUNT_WORDS),
    )
    for measure, base_pint_name, rows in tables:
        for word, pint_name, names, short_names in rows:
            unit = Unit(word, measure, _factor(pint_name, base_pint_name))
            may_begin = word not in NO_FIRST_LETTERS
            for name in (word, *names):
                for form in _unit_forms(name):
                    yield form, unit, may_begin
            for name in short_names:
                for form in _unit_forms(name):
                    yield form, unit, False


# The units' names in full, by the word that we show.
LONG_NAMES: Mapping[str, str] = MappingProxyType(
    {
        word: names[0]
        for word, _, names, _ in (*MASS_WORDS, *VOLUME_WORDS, *COUNT_WORDS)
        if names
    }
)
_FORMS = tuple(_compiled())
# Every word that people may write, by its key.
UNIT_BY_WORD: Mapping[str, Unit] = MappingProxyType(
    {form: unit for form, unit, _ in _FORMS}
)

# Those of which first letters will do.
UNIT_BY_BEGINNING: Mapping[str, Unit] = MappingProxyType(
    {form: unit for form, unit, may_begin in _FORMS if may_begin}
)

# The units themselves, by the word that we show.
UNITS: Mapping[str, Unit] = MappingProxyType(
    {unit.word: unit for unit in UNIT_BY_WORD.values()}
)


@cache
def units_of(measure: Measure) -> tuple[Unit, ...]:
    """Return the measure's units, smallest first."""
    mine = (unit for unit in UNITS.values() if unit.measure is measure)
    return tuple(sorted(mine, key=lambda unit: unit.per_unit_base))
