"""Whether a cake's base size has what its lines are to grow with."""

from planning.engine.demand import geometry
from planning.engine.kitchen import Scale
from planning.errors import UnscalableCakeError
from stock.measures.lengths import parse_length_cm
from stock.models import Bakery


def layer_height_cm() -> float:
    """Return how high one baked layer is. One query."""
    bakery = Bakery.current()
    return parse_length_cm(bakery.layer_height)


def unscalable(
    cake_name: str, base_size: str, scales_with: str, height_cm: float
) -> str:
    """Return why a line of the cake cannot scale so; "" if it can.

    >>> unscalable("small cake", "6 in round x 1", "filling", 3.81)[:52]
    'small cake has a line that scales with filling, but '
    >>> unscalable("small cake", "6 in round x 2", "filling", 3.81)
    ''
    """
    if not scales_with:
        return ""
    if base_size:
        sums = geometry.scale_sums(geometry.parse_size(base_size), height_cm)
        if sums[Scale[scales_with.upper()]] > 0:
            return ""
    return str(UnscalableCakeError(cake_name, base_size, scales_with))
