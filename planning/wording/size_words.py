"""A cake's size in words: its tiers, and how much more than the base size it is."""

import math

from planning.engine.demand import geometry
from planning.engine.demand.geometry import Tier
from planning.engine.kitchen import Scale

FACTOR_WORDS = {
    Scale.VOLUME: "the layers",
    Scale.FILLING: "the fillings",
    Scale.SURFACE: "the outside",
}


def tiers_words(size: str) -> list[str]:
    """Return each tier as a phrase; raise a SizeError if it cannot be read.

    >>> tiers_words("6 in round x 3 + 9 x 13 in sheet x 1")
    ['3 layers of 6 in round', '1 layer of 9 x 13 in sheet']
    """
    return [_tier_words(tier) for tier in geometry.parse_size(size)]


def factors_words(size: str, base_size: str, layer_height_cm: float) -> str:
    """Return how much of everything a size has, against the base size.

    Blank where there is nothing to compare with.

    >>> factors_words("10 in round x 3", "8 in round x 3", 3.81)
    '1.56 times the layers, 1.56 times the fillings and 1.35 times the outside'
    """
    factors = geometry.scale_factors(size, base_size, layer_height_cm)
    *others, last = [
        f"{_factor(factors[scale])} times {words}"
        for scale, words in FACTOR_WORDS.items()
        if not math.isnan(factors[scale])
    ] or [""]
    return f"{', '.join(others)} and {last}" if others else last


def _tier_words(tier: Tier) -> str:
    shape = geometry.write_size((tier,)).rsplit(" x ", 1)[0]
    return f"{tier.layers} layer{'' if tier.layers == 1 else 's'} of {shape}"


def _factor(factor: float) -> str:
    return f"{factor:.2f}".rstrip("0").rstrip(".")
