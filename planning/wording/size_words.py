"""A cake's size in words: its tiers, and how much more than the base size it is."""

import math

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from planning.engine.demand import geometry
from planning.engine.demand.geometry import Tier
from planning.engine.kitchen import Scale

FACTOR_WORDS = {
    Scale.VOLUME: gettext_lazy("the layers"),
    Scale.FILLING: gettext_lazy("the fillings"),
    Scale.SURFACE: gettext_lazy("the outside"),
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
        _("{factor} times {words}").format(factor=_factor(factors[scale]), words=words)
        for scale, words in FACTOR_WORDS.items()
        if not math.isnan(factors[scale])
    ] or [""]
    return (
        _("{others} and {last}").format(others=", ".join(others), last=last)
        if others
        else last
    )


def _tier_words(tier: Tier) -> str:
    shape = geometry.write_size((tier,)).rsplit(" x ", 1)[0]
    return ngettext(
        "{layers} layer of {shape}", "{layers} layers of {shape}", tier.layers
    ).format(layers=tier.layers, shape=shape)


def _factor(factor: float) -> str:
    return f"{factor:.2f}".rstrip("0").rstrip(".")
