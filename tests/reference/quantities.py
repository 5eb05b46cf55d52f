"""Quantities as people write them, turned into exact amounts of a base unit."""

import re
import unicodedata
from dataclasses import dataclass, field
from fractions import Fraction

BASE_UNIT = {"mass": "g", "volume": "mL", "count": "each"}

LB_G = Fraction("453.59237")
GALLON_ML = Fraction("3785.411784")

# unit: (kind, how much of the kind's base unit one of it is). Factors: NIST.
UNITS = {
    "g": ("mass", Fraction(1)),
    "kg": ("mass", Fraction(1000)),
    "lb": ("mass", LB_G),
    "oz": ("mass", LB_G / 16),
    "ml": ("volume", Fraction(1)),
    "l": ("volume", Fraction(1000)),
    "gallon": ("volume", GALLON_ML),
    "quart": ("volume", GALLON_ML / 4),
    "pint": ("volume", GALLON_ML / 8),
    "cup": ("volume", GALLON_ML / 16),
    "fl oz": ("volume", GALLON_ML / 128),
    "tbsp": ("volume", GALLON_ML / 256),
    "tsp": ("volume", GALLON_ML / 768),
    "dash": ("volume", GALLON_ML / 768 / 8),  # common practice
    "pinch": ("volume", GALLON_ML / 768 / 16),  # common practice
    "each": ("count", Fraction(1)),
    "dozen": ("count", Fraction(12)),
}

VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
NUMBER = rf"""
    (?: \d+ \s+ \d+ \s*[/\u2044]\s* \d+     # 3 1/2
      | \d+ \s*[/\u2044]\s* \d+             # 1/2
      | \d+ \s* [{VULGAR}]             # 1½
      | [{VULGAR}]                     # ¾
      | \d+ \. \d+ | \. \d+ | \d+      # 0.4
    )"""
TERM = re.compile(rf"\s*({NUMBER})\s*([^\d+{VULGAR}]*)", re.VERBOSE)


class QuantityError(ValueError):
    """A quantity that cannot be read, or that the thing cannot be asked for in."""


@dataclass
class Measure:
    """How one item, part or recipe is measured, and every word it understands."""

    name: str
    kind: str  # mass, volume or count
    # foreign unit: own amount of `number` of it, as [(number, unit, own amount)]
    equivalents: list[tuple[Fraction, str, Fraction]] = field(default_factory=list)
    words: dict[str, Fraction] = field(default_factory=dict)

    @property
    def unit(self) -> str:
        return BASE_UNIT[self.kind]

    def amount(self, text: str) -> Fraction:
        """The whole quantity in the base unit."""
        return sum(
            (number * self.one(word) for number, word in terms(text)), Fraction(0)
        )

    def one(self, word: str) -> Fraction:
        """One of a unit or own word, in the base unit."""
        for spelling in singulars(word):
            if spelling in self.words:
                return self.words[spelling]
            if spelling in UNITS:
                return self._one_unit(spelling)
        raise QuantityError(f"{self.name} knows no unit {word!r}")

    def _one_unit(self, unit: str) -> Fraction:
        kind, size = UNITS[unit]
        if kind == self.kind:
            return size
        same_unit = [e for e in self.equivalents if e[1] == unit]
        same_kind = [e for e in self.equivalents if UNITS[e[1]][0] == kind]
        if kind == "count":
            same_kind = [e for e in same_kind if e[1] == "each"] or same_kind
        candidates = same_unit or same_kind
        if not candidates:
            raise QuantityError(f"{self.name} cannot turn {unit} into {self.unit}")
        number, of_unit, own = max(candidates, key=lambda e: e[0] * UNITS[e[1]][1])
        return size * own / (number * UNITS[of_unit][1])


def singulars(word: str) -> list[str]:
    folded = " ".join(word.casefold().split())
    return [folded, folded[:-1]] if folded.endswith("s") else [folded]


def read_number(text: str) -> Fraction:
    total = Fraction(0)
    text = re.sub(r"\s*[/\u2044]\s*", "/", text.strip())
    for vulgar in VULGAR:
        plain = unicodedata.normalize("NFKC", vulgar).replace("\u2044", "/")
        text = text.replace(vulgar, f" {plain} ")
    for piece in text.split():
        total += Fraction(piece)
    return total


def terms(text: str) -> list[tuple[Fraction, str]]:
    """Split `2 case + 3 1/2 lb` into [(2, "case"), (7/2, "lb")]."""
    if "," in text:
        raise QuantityError(f"{text!r}: write decimals with a point")
    found = []
    position = 0
    text = text.strip()
    while position < len(text):
        match = TERM.match(text, position)
        if match is None:
            raise QuantityError(f"{text!r} is not a number and a unit")
        number, unit = match.group(1), match.group(2).strip()
        if not unit:
            raise QuantityError(f"{text!r}: a number without a unit")
        found.append((read_number(number), unit))
        position = match.end()
        if text[position : position + 1] == "+":
            position += 1
            if not text[position:].strip():
                raise QuantityError(f"{text!r} ends in a plus")
    if not found:
        raise QuantityError("an empty quantity")
    return found


def kind_of(text: str) -> str:
    """mass, volume or count, of a quantity in plain units only."""
    kinds = set()
    for _number, word in terms(text):
        unit = next((s for s in singulars(word) if s in UNITS), None)
        if unit is None:
            raise QuantityError(f"{word!r} is not a unit")
        kinds.add(UNITS[unit][0])
    if len(kinds) != 1:
        raise QuantityError(f"{text!r} mixes measures")
    return kinds.pop()


def read_equivalents(
    name: str, kind: str, text: str
) -> list[tuple[Fraction, str, Fraction]]:
    """`1 cup = 125 g; 1 tbsp = 8 g` for something kept by `kind`."""
    plain = Measure(name, kind)
    found = []
    for clause in filter(None, (c.strip() for c in text.split(";"))):
        sides = [side.strip() for side in clause.split("=")]
        own = [side for side in sides if kind_of(side) == kind]
        foreign = [side for side in sides if kind_of(side) != kind]
        if len(own) != 1 or len(foreign) != 1:
            raise QuantityError(f"{name}: {clause!r} needs one side by {kind}")
        ((number, word),) = terms(foreign[0])
        unit = next(s for s in singulars(word) if s in UNITS)
        found.append((number, unit, plain.amount(own[0])))
    return found
