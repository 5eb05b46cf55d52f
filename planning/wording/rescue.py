"""Rescue: what no delivery can save, as a shopping list for one run.

The list and its alternatives are words only; nothing of it is done by the program.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from planning.engine.scenarios.rescue import (
    Dropped,
    Lost,
    LostWithRemedies,
    SmallerBatch,
    find_unsaved,
)
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.plan.planner import Planned
from planning.plan.telling import Telling
from planning.sentences.cakes_named import cakes_words
from planning.wording.shortfall_words import ordered_too_words


@dataclass(frozen=True, slots=True)
class WithoutCake:
    """What would still be missing if a tentative cake were not made."""

    reference: str
    words: str


@dataclass(frozen=True, slots=True)
class ToBuy:
    """One line of the shopping list."""

    node: int
    name: str
    buy: str  # in amounts that shops sell
    needed: str
    is_rounded_up: bool  # to what shops sell
    by_on: date
    is_sold: bool  # by a supplier, but too late
    cakes: tuple[str, ...]
    for_words: str  # one cake by name, several by their number and first day
    without: tuple[WithoutCake, ...]
    smaller_batches: tuple[str, ...]  # sentences
    ordered_too: str  # a sentence, where an order brings it, but too late; else blank


def find_lost_items(planned: Planned) -> tuple[Lost, ...]:
    """Return what no delivery can save, by the day it is needed. No queries."""
    return tuple(planned.ways_out.lost.values())


def retired_but_needed(planned: Planned) -> list[str]:
    """Return the names of what is needed, but retired and so not watched."""
    nodes = planned.kitchen.nodes
    needed = set(planned.plan.demand.node.tolist())
    return sorted(nodes.names[node] for node in needed if nodes.retired[node])


def shopping_list(planned: Planned, lost: Sequence[Lost], tell: Telling) -> list[ToBuy]:
    """Return what to buy by hand, in the order given. No queries of its own."""
    found = find_unsaved(
        planned.explosion, planned.plan.window, planned.deliveries, lost
    )
    return [_to_buy(planned, unsaved, tell) for unsaved in found]


def list_as_text(rows: Iterable[ToBuy], tell: Telling) -> str:
    """Return the list as plain text, a line an item."""
    return "\n".join(
        _("{buy} {item}{needed}, by {day}{for_cakes}").format(
            buy=row.buy,
            item=row.name,
            needed=_needed(row),
            day=tell.day(row.by_on),
            for_cakes=_for_cakes(row),
        )
        for row in rows
    )


def _needed(row: ToBuy) -> str:
    return (
        _(" ({needed} needed)").format(needed=row.needed) if row.is_rounded_up else ""
    )


def _for_cakes(row: ToBuy) -> str:
    return (
        _(", for {for_words}").format(for_words=row.for_words) if row.for_words else ""
    )


def _to_buy(planned: Planned, unsaved: LostWithRemedies, tell: Telling) -> ToBuy:
    lost, node = unsaved.lost, unsaved.lost.node
    buy = planned.words.retail(node, lost.short_base)
    needed = planned.words.content(node, lost.short_base)
    bought = planned.words.content(node, float(buy.amount_base))
    return ToBuy(
        node=node,
        name=planned.kitchen.nodes.names[node],
        buy=buy.words if buy.unit in needed else _in_both(buy.words, bought),
        needed=needed,
        is_rounded_up=bought != needed,
        by_on=lost.first_on,
        is_sold=lost.is_sold,
        cakes=lost.cakes,
        for_words=cakes_words(planned.kitchen, lost.cakes, tell.day),
        without=tuple(_without(planned, node, drop) for drop in unsaved.drops),
        smaller_batches=tuple(
            _batch_words(planned, node, batch, tell) for batch in unsaved.smaller
        ),
        ordered_too=ordered_too_words(planned, node, tell),
    )


def _in_both(in_shops: str, in_kitchen: str) -> str:
    """Return an amount in a shop's unit, with the kitchen's where that is another."""
    return in_shops if in_shops == in_kitchen else f"{in_shops} ({in_kitchen})"


def _without(planned: Planned, node: int, drop: Dropped) -> WithoutCake:
    left = "nothing"
    if drop.left_base >= LEAST_LACK_BASE:
        left = _("only {content}").format(
            content=planned.words.content(node, drop.left_base)
        )
    words = _("Without {reference}, which is tentative: {left} needed.").format(
        reference=drop.reference, left=left
    )
    return WithoutCake(drop.reference, words)


def _batch_words(
    planned: Planned, node: int, batch: SmallerBatch, tell: Telling
) -> str:
    words = planned.words
    return _(
        "Making {names} {on_day} leaves {content} over; a smaller batch "
        "saves {content2}."
    ).format(
        names=planned.kitchen.nodes.names[batch.recipe],
        on_day=tell.on_day(batch.on),
        content=words.content(batch.recipe, batch.surplus_base),
        content2=words.content(node, batch.spared_base),
    )
