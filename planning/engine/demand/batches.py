"""Whole batches: rounding up to a batch step, and filling the mixer."""

import math

# Sums of recipe fractions carry float noise: 2.0000000001 batches are 2.
ROUND_UP_TOLERANCE_STEPS = 1e-6


def batches_to_make(wanted_batches: float, batch_step: float) -> float:
    """Return the batches to make, rounded up to the step; a step of 0 is any amount.

    >>> batches_to_make(1.7578125, 0.5)
    2.0
    """
    if batch_step <= 0:
        return wanted_batches
    steps = math.ceil(wanted_batches / batch_step - ROUND_UP_TOLERANCE_STEPS)
    return max(steps, 0) * batch_step


def mixes_to_fill(batches: float, largest_batch: float) -> int:
    """Return how many times the mixer is filled; no largest batch (0) is once.

    >>> mixes_to_fill(2.5, 1.0)
    3
    """
    if largest_batch <= 0:
        return 1
    return max(math.ceil(batches / largest_batch - ROUND_UP_TOLERANCE_STEPS), 1)
