"""Sizes of cakes: from what people write to how much a line of a recipe grows.

A size is tiers joined by `+`; a tier is `8 in round x 3`, `9 x 13 in sheet x 2` or
`10 in square x 4`, the number of layers last. Lengths are kept exactly as written
and turn into centimeters only when they are reckoned with.
"""

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

import numpy as np

from planning.engine.kitchen import FloatColumn, Scale
from planning.errors import SizeError, SizeFault
from stock.measures.lengths import (
    CM_PER_UNIT,
    NUMBER,
    UNIT,
    plain,
    read_number,
    unit_of,
)

SIZES_REMEMBERED = 4096

TIER = re.compile(
    rf"({NUMBER})\s*-?\s*({UNIT})?\.?\s*"
    rf"(?:x\s*({NUMBER})\s*-?\s*({UNIT})?\.?\s*)?"
    r"(round|square|sheet)\s*(?:x\s*(\d{1,3}))?"
)


class Shape(StrEnum):
    """What a pan looks like from above."""

    ROUND = "round"
    SQUARE = "square"
    SHEET = "sheet"


@dataclass(frozen=True, slots=True)
class Tier:
    """One tier of a cake: layers of one pan, stacked."""

    shape: Shape
    across: Fraction  # the diameter, or the first side
    along: Fraction  # the second side; the same as `across` unless it is a sheet
    unit: str  # in or cm
    layers: int

    @property
    def area_cm2(self) -> float:
        """The top of one layer."""
        across_cm, along_cm = self._sides_cm
        if self.shape is Shape.ROUND:
            return math.pi / 4 * across_cm**2
        return across_cm * along_cm

    @property
    def perimeter_cm(self) -> float:
        """The way round one layer."""
        across_cm, along_cm = self._sides_cm
        if self.shape is Shape.ROUND:
            return math.pi * across_cm
        return 2 * (across_cm + along_cm)

    @property
    def _sides_cm(self) -> tuple[float, float]:
        cm = CM_PER_UNIT[self.unit]
        return float(self.across * cm), float(self.along * cm)


@lru_cache(maxsize=SIZES_REMEMBERED)
def parse_size(text: str) -> tuple[Tier, ...]:
    """Return the tiers of a size as people write it.

    >>> [tier.layers for tier in parse_size("10 in round x 3 + 8 in round x 2")]
    [3, 2]
    """
    return tuple(_parse_tier(part, text) for part in plain(text).split("+"))


def write_size(tiers: tuple[Tier, ...]) -> str:
    """Return tiers as text that `parse_size` reads back as the same tiers.

    >>> write_size(parse_size("9½x13 in sheet x2"))
    '9.5 x 13 in sheet x 2'
    """
    return " + ".join(_write_tier(tier) for tier in tiers)


def scale_sums(tiers: tuple[Tier, ...], layer_height_cm: float) -> FloatColumn:
    """Return what lines grow with, by `Scale`: tiers, square centimeters or 1."""
    sums = np.zeros(len(Scale))
    sums[Scale.CAKE] = 1.0
    sums[Scale.TIER] = len(tiers)
    for tier in tiers:
        area_cm2 = tier.area_cm2
        side_cm2 = tier.perimeter_cm * layer_height_cm * tier.layers
        sums[Scale.VOLUME] += area_cm2 * tier.layers
        sums[Scale.FILLING] += area_cm2 * (tier.layers - 1)
        sums[Scale.SURFACE] += area_cm2 + side_cm2
    return sums


@lru_cache(maxsize=SIZES_REMEMBERED)
def size_sums(size: str, layer_height_cm: float) -> tuple[float, ...]:
    """Return what lines grow with in a size as typed, by `Scale`.

    Without a size there is the cake itself and nothing else to go by.
    """
    if not size.strip():
        return (1.0,) + (0.0,) * (len(Scale) - 1)
    return tuple(scale_sums(parse_size(size), layer_height_cm).tolist())


def scale_factors(size: str, base_size: str, layer_height_cm: float) -> FloatColumn:
    """Return what a cake's lines are multiplied by, by `Scale`.

    A blank size is the base size. Where the base has none of something (no filling
    in a single layer, or no base size at all) the factor is NaN: nothing to go by.
    """
    sums = np.array(size_sums(size.strip() or base_size, layer_height_cm))
    return factors_of(sums, np.array(size_sums(base_size, layer_height_cm)))


def factors_of(sums: FloatColumn, base_sums: FloatColumn) -> FloatColumn:
    """Return sums against those of the base; NaN where the base has none."""
    factors = np.full_like(sums, np.nan)
    np.divide(sums, base_sums, out=factors, where=base_sums > 0)
    return factors


def are_one_size(size: str, other: str) -> bool:
    """Whether two sizes as typed, blank or not, are the same tiers."""
    if not size.strip() or not other.strip():
        return size.strip() == other.strip()
    return parse_size(size) == parse_size(other)


def _parse_tier(part: str, text: str) -> Tier:
    match = TIER.fullmatch(part.strip())
    if not match:
        raise SizeError(text, SizeFault.UNREADABLE)
    first, first_unit, second, second_unit, shape_name, layers = match.groups()
    shape = Shape(shape_name)
    if (second is not None) != (shape is Shape.SHEET):
        raise SizeError(text, SizeFault.SIDES)
    unit = _unit(second_unit or first_unit, text)
    if first_unit and unit_of(first_unit) != unit:
        raise SizeError(text, SizeFault.TWO_UNITS)
    if layers is None or int(layers) == 0:
        raise SizeError(text, SizeFault.NO_LAYERS)
    across = _number(first, text)
    along = across if second is None else _number(second, text)
    return Tier(shape, across, along, unit, int(layers))


def _unit(word: str | None, text: str) -> str:
    if word is None:
        raise SizeError(text, SizeFault.NO_UNIT)
    return unit_of(word)


def _number(words: str, text: str) -> Fraction:
    try:
        number = read_number(words)
    except ZeroDivisionError as error:
        raise SizeError(text, SizeFault.DIVIDED_BY_ZERO) from error
    if number == 0:
        raise SizeError(text, SizeFault.ZERO_LENGTH)
    return number


def _write_tier(tier: Tier) -> str:
    sides = _write_number(tier.across)
    if tier.shape is Shape.SHEET:
        sides = f"{sides} x {_write_number(tier.along)}"
    return f"{sides} {tier.unit} {tier.shape} x {tier.layers}"


def _write_number(number: Fraction) -> str:
    decimal = Decimal(number.numerator) / Decimal(number.denominator)
    if Fraction(decimal) == number:
        return f"{decimal:f}"
    whole, rest = divmod(number, 1)
    return f"{whole} {rest}" if whole else str(rest)
