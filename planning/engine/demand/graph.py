"""Which node takes which: low-level codes, and the path of a recipe in itself.

A node's code is the length of the longest way down to it, so that everything that
takes a node has a smaller code than the node itself.
"""

from collections.abc import Sequence

import numpy as np

from planning.engine.kitchen import IntColumn
from planning.errors import RecipeCycleError

NOT_REACHED = -1


def low_level_codes(
    parents: IntColumn, children: IntColumn, names: Sequence[str]
) -> IntColumn:
    """Return every node's low-level code; one row of `parents` takes `children`.

    A node that contains itself is an error that names the path.
    """
    count = len(names)
    order = np.argsort(parents, kind="stable")
    child_by_parent = children[order]
    edges = np.bincount(parents, minlength=count)
    first_edge = np.cumsum(edges) - edges
    waiting_for = np.bincount(children, minlength=count)
    codes = np.full(count, NOT_REACHED, dtype=np.int64)
    ready = np.flatnonzero(waiting_for == 0)
    code = 0
    while ready.size:
        codes[ready] = code
        taken = child_by_parent[spans(first_edge[ready], edges[ready])]
        times_taken = np.bincount(taken, minlength=count)
        waiting_for -= times_taken
        ready = np.flatnonzero((times_taken > 0) & (waiting_for == 0))
        code += 1
    stuck = np.flatnonzero(codes == NOT_REACHED)
    if stuck.size:
        path = _path_in_itself(parents, children, stuck)
        raise RecipeCycleError([names[node] for node in path])
    return codes


def spans(starts: IntColumn, counts: IntColumn) -> IntColumn:
    """Return the places of several runs, one after the other.

    >>> spans(np.array([5, 0]), np.array([2, 3])).tolist()
    [5, 6, 0, 1, 2]
    """
    ends = np.cumsum(counts)
    total = int(ends[-1]) if len(ends) else 0
    return np.arange(total) + np.repeat(starts - ends + counts, counts)


def _path_in_itself(
    parents: IntColumn, children: IntColumn, stuck: IntColumn
) -> list[int]:
    """Return a way from a node down to itself; every stuck node has a stuck parent."""
    among = np.isin(parents, stuck) & np.isin(children, stuck)
    parent_of = dict(
        zip(children[among].tolist(), parents[among].tolist(), strict=True)
    )
    climbed: dict[int, int] = {}
    node = int(stuck[0])
    while node not in climbed:
        climbed[node] = len(climbed)
        node = parent_of[node]
    circle = list(climbed)[climbed[node] :]
    circle.reverse()
    first = circle.index(min(circle))
    circle = circle[first:] + circle[:first]
    return [*circle, circle[0]]
