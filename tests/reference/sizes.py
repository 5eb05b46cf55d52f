"""Cake sizes: tiers, and by how much each of a cake's lines is multiplied."""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

# The double nearest to pi; it cancels wherever all tiers are round.
PI = Fraction(math.pi)
CM_IN = 1 / Fraction("2.54")
DEFAULT_LAYER_HEIGHT = "1.5 in"

TIER = re.compile(
    r"(?P<a>\d+(?:\.\d+)?)(?:\s*x\s*(?P<b>\d+(?:\.\d+)?))?\s*(?P<unit>in|cm)\s+"
    r"(?P<shape>round|square|sheet)\s*x\s*(?P<layers>\d+)",
    re.IGNORECASE,
)


class SizeError(ValueError):
    """A size that cannot be read, or a base that has nothing to scale by."""


@dataclass(frozen=True)
class Tier:
    area_sq_in: Fraction
    perimeter_in: Fraction
    layers: int


def read_tiers(text: str) -> list[Tier]:
    return [read_tier(piece) for piece in text.split("+")]


def read_tier(text: str) -> Tier:
    match = TIER.fullmatch(text.strip())
    if match is None:
        raise SizeError(f"{text!r} is not a tier like 8 in round x 3")
    inch = CM_IN if match["unit"].lower() == "cm" else Fraction(1)
    a = Fraction(match["a"]) * inch
    b = Fraction(match["b"]) * inch if match["b"] else a
    layers = int(match["layers"])
    shape = match["shape"].lower()
    if (shape == "sheet") != bool(match["b"]):
        raise SizeError(f"{text!r}: a sheet has two sides, other shapes one")
    if shape == "round":
        return Tier(PI * a * a / 4, PI * a, layers)
    return Tier(a * b, 2 * (a + b), layers)


def read_length_in(text: str) -> Fraction:
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(in|cm)\s*", text, re.IGNORECASE)
    if match is None:
        raise SizeError(f"{text!r} is not a length like 1.5 in")
    return Fraction(match[1]) * (CM_IN if match[2].lower() == "cm" else 1)


def total(tiers: list[Tier], scales_with: str, layer_height_in: Fraction) -> Fraction:
    h = layer_height_in
    if scales_with == "volume":
        return sum((t.area_sq_in * t.layers for t in tiers), Fraction(0))
    if scales_with == "filling":
        return sum((t.area_sq_in * (t.layers - 1) for t in tiers), Fraction(0))
    if scales_with == "surface":
        return sum(
            (t.area_sq_in + t.perimeter_in * h * t.layers for t in tiers), Fraction(0)
        )
    if scales_with == "tier":
        return Fraction(len(tiers))
    raise SizeError(f"{scales_with!r} is not a way to scale")


def factor(
    scales_with: str, size: str, base_size: str, layer_height_in: Fraction
) -> Fraction:
    """What one line of a cake of `size` is multiplied by."""
    if not scales_with or scales_with == "cake":
        return Fraction(1)
    if not base_size:
        raise SizeError(f"a line scales with {scales_with}, but there is no base_size")
    base = total(read_tiers(base_size), scales_with, layer_height_in)
    if base == 0:
        raise SizeError(f"{base_size!r} has no {scales_with} to scale by")
    return total(read_tiers(size or base_size), scales_with, layer_height_in) / base
