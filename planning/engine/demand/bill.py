"""All recipes as one matrix, cut into levels: what one batch or one cake takes.

A taker is a column of the matrix: a made recipe, counted in batches, or the lines of
a cake that scale in one way, counted in cakes times what they are multiplied by.
Rows are nodes; amounts are as purchased, or as made, in the node's own base unit.

Which node takes which: low-level codes, and the path of a recipe in itself.

A node's code is the length of the longest way down to it, so that everything that
takes a node has a smaller code than the node itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import csc_array

from planning.engine.kitchen import (
    NO_NODE,
    FloatColumn,
    IntColumn,
    Lines,
    NodeKind,
    Nodes,
    Scale,
)
from planning.errors import CakeAsComponentError, RecipeCycleError

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


NO_TAKER = -1


@dataclass(frozen=True, slots=True)
class BillLevel:
    """What has one low-level code."""

    made: IntColumn  # nodes that are made, cakes not among them
    made_taker: IntColumn  # their takers, counted from the level's first; or NO_TAKER
    wholes: IntColumn  # nodes that parts are taken from
    takers: slice
    matrix: Any  # csc_array: nodes x takers of this level


@dataclass(frozen=True, slots=True)
class Bill:
    """All recipes, sorted by level."""

    levels: tuple[BillLevel, ...]
    taker_node: IntColumn
    taker_scale: IntColumn
    taker_by_scale: IntColumn  # Scale x node; NO_TAKER where there are no such lines
    line_taker: IntColumn  # of each line, sorted by taker
    line_component: IntColumn
    line_amount_base: FloatColumn  # for one batch or one cake, as purchased


def bill_of(nodes: Nodes, lines: Lines) -> Bill:
    """Return the recipes as level matrices.

    A recipe that contains itself is an error, and so is a cake inside a recipe.
    """
    _check_no_cake_inside(nodes, lines)
    parts = np.flatnonzero(nodes.whole != NO_NODE)
    codes = low_level_codes(
        np.concatenate([lines.recipe, parts]),
        np.concatenate([lines.component, nodes.whole[parts]]),
        nodes.names,
    )
    count = len(nodes.names)
    is_cake = nodes.kind == NodeKind.CAKE
    scale = np.where(is_cake[lines.recipe], lines.scale, Scale.CAKE)
    key = (codes[lines.recipe] * count + lines.recipe) * len(Scale) + scale
    order = np.argsort(key, kind="stable")
    key = key[order]
    is_first = np.diff(key, prepend=-1) != 0
    first_line = np.flatnonzero(is_first)
    taker_key = key[first_line]
    taker_node = taker_key // len(Scale) % count
    taker_scale = taker_key % len(Scale)
    taker_by_scale = np.full((len(Scale), count), NO_TAKER, dtype=np.int64)
    taker_by_scale[taker_scale, taker_node] = np.arange(len(taker_node))
    bill = Bill(
        levels=(),
        taker_node=taker_node,
        taker_scale=taker_scale,
        taker_by_scale=taker_by_scale,
        line_taker=np.cumsum(is_first) - 1,
        line_component=lines.component[order],
        line_amount_base=(lines.quantity_base / lines.yield_fraction)[order],
    )
    starts = np.append(first_line, len(key))
    return _with_levels(bill, nodes, codes, starts)


def _check_no_cake_inside(nodes: Nodes, lines: Lines) -> None:
    is_cake_inside = nodes.kind[lines.component] == NodeKind.CAKE
    if is_cake_inside.any():
        line = int(np.argmax(is_cake_inside))
        raise CakeAsComponentError(
            nodes.names[lines.recipe[line]], nodes.names[lines.component[line]]
        )


def _with_levels(bill: Bill, nodes: Nodes, codes: IntColumn, starts: IntColumn) -> Bill:
    count = len(codes)
    depth = int(codes.max(initial=-1)) + 1
    taker_bounds = np.searchsorted(codes[bill.taker_node], np.arange(depth + 1))
    is_whole = np.zeros(count, dtype=np.bool_)
    is_whole[nodes.whole[nodes.whole != NO_NODE]] = True
    made_by_level = _by_level(np.flatnonzero(nodes.kind == NodeKind.MADE), codes, depth)
    wholes_by_level = _by_level(np.flatnonzero(is_whole), codes, depth)
    levels = []
    for code, (made, wholes) in enumerate(
        zip(made_by_level, wholes_by_level, strict=True)
    ):
        first, last = int(taker_bounds[code]), int(taker_bounds[code + 1])
        lines = slice(int(starts[first]), int(starts[last]))
        matrix = csc_array(
            (
                bill.line_amount_base[lines],
                bill.line_component[lines],
                starts[first : last + 1] - starts[first],
            ),
            shape=(count, last - first),
        )
        taker = bill.taker_by_scale[Scale.CAKE, made]
        in_level = np.where(taker == NO_TAKER, NO_TAKER, taker - first)
        levels.append(BillLevel(made, in_level, wholes, slice(first, last), matrix))
    return Bill(
        tuple(levels),
        bill.taker_node,
        bill.taker_scale,
        bill.taker_by_scale,
        bill.line_taker,
        bill.line_component,
        bill.line_amount_base,
    )


def _by_level(chosen: IntColumn, codes: IntColumn, depth: int) -> list[IntColumn]:
    """Return some nodes, split by their low-level code."""
    code = codes[chosen]
    order = np.argsort(code, kind="stable")
    bounds = np.searchsorted(code[order], np.arange(depth + 1))
    return [chosen[order[bounds[level] : bounds[level + 1]]] for level in range(depth)]
