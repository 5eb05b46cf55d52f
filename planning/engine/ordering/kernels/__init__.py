"""The inner loops of the search, as machine code (numba).

Numba and its compiler are large: they are loaded when the first of these functions is
asked for, in the process that searches, and not by every page.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from planning.engine.ordering.kernels.annealing import anneal
    from planning.engine.ordering.kernels.buying_up import buy_up
    from planning.engine.ordering.kernels.following import (
        follow,
        outcome,
        useful_left_base,
    )
    from planning.engine.ordering.kernels.labeling import unbeaten, walk
    from planning.engine.ordering.kernels.remaining_cost import cost_to_go

__all__ = [
    "anneal",
    "buy_up",
    "cost_to_go",
    "follow",
    "outcome",
    "unbeaten",
    "useful_left_base",
    "walk",
]

_MODULES = {
    "anneal": "annealing",
    "buy_up": "buying_up",
    "cost_to_go": "remaining_cost",
    "follow": "following",
    "outcome": "following",
    "unbeaten": "labeling",
    "useful_left_base": "following",
    "walk": "labeling",
}


def __getattr__(name: str) -> Any:
    """Load a function and its module on first use (PEP 562)."""
    if name not in _MODULES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    kernel = getattr(import_module(f"{__name__}.{_MODULES[name]}"), name)
    globals()[name] = kernel  # found without this function from now on
    return kernel
