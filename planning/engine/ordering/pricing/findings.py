"""What pricing an item comes to."""

from dataclasses import dataclass

from planning.engine.ordering.pricing.tasks import Choice


@dataclass(frozen=True, slots=True)
class PricedChoice:
    """The cheapest choice at some prices."""

    choice: Choice | None  # None: there is none
    value: float  # at these prices, less what is left over is worth
    bound: float  # no choice is cheaper; equal to the value unless cut short
