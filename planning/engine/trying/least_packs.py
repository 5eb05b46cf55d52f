"""The cheapest numbers of packs that are enough, one number for each of some lines."""

import itertools
import math
from collections.abc import Callable, Sequence
from decimal import Decimal

Counts = tuple[int, ...]  # of packs, one for each line

# So many are tried one by one; beyond that each line is taken down by itself.
MOST_COMBINATIONS = 200


def least_counts(
    sold: Sequence[Sequence[int]],
    *,
    is_enough: Callable[[Counts], bool],
    cost: Callable[[Counts], Decimal],
) -> Counts:
    """Return the cheapest numbers that are enough.

    `sold` has the numbers in which each line is sold, ascending; the highest of all
    lines together have to be enough, and more must never do less. Where there are very
    many combinations, what is returned has no packs that could be left out, though
    another combination may be cheaper.

    >>> least_counts(
    ...     [range(3), range(5)],
    ...     is_enough=lambda counts: 10 * counts[0] + 3 * counts[1] >= 13,
    ...     cost=lambda counts: Decimal(10 * counts[0] + 4 * counts[1]),
    ... )
    (1, 1)
    """
    most = tuple(numbers[-1] for numbers in sold)
    if math.prod(len(numbers) for numbers in sold[:-1]) > MOST_COMBINATIONS:
        return _line_by_line(sold, most, is_enough)
    best, best_cost = most, cost(most)
    for first in itertools.product(*sold[:-1]):
        if cost((*first, 0)) >= best_cost or not is_enough((*first, most[-1])):
            continue
        found = _fewest(sold, (*first, most[-1]), len(first), is_enough)
        if cost(found) < best_cost:
            best, best_cost = found, cost(found)
    return _line_by_line(sold, best, is_enough)


def _line_by_line(
    sold: Sequence[Sequence[int]], counts: Counts, is_enough: Callable[[Counts], bool]
) -> Counts:
    for place in range(len(counts)):
        counts = _fewest(sold, counts, place, is_enough)
    return counts


def _fewest(
    sold: Sequence[Sequence[int]],
    counts: Counts,
    place: int,
    is_enough: Callable[[Counts], bool],
) -> Counts:
    """Return the same numbers with the fewest packs of one line that are enough."""
    low, high = 0, list(sold[place]).index(counts[place])
    while low < high:
        middle = (low + high) // 2
        if is_enough((*counts[:place], sold[place][middle], *counts[place + 1 :])):
            high = middle
        else:
            low = middle + 1
    return (*counts[:place], sold[place][high], *counts[place + 1 :])
