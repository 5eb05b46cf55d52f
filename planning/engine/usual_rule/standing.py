"""How an item stands over the whole plan, in words whose figures add up as said."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from planning.engine.kitchen import Kitchen, Window
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.words import capitalized, day_words

Say = Callable[[int, float], str]  # a node's amount in its base unit, in words
SaidBase = Callable[[int, str], Fraction]  # what such words come to, as they stand


@dataclass(frozen=True, slots=True)
class Standing:
    """How an item stands over the whole plan, without suggested orders."""

    on_hand_base: float  # in date on the first day
    on_order_base: float  # that comes within the plan
    used_base: float
    expired_base: float  # goes out of date within the plan


def standing_words(
    kitchen: Kitchen,
    window: Window,
    node: int,
    standing: Standing,
    say: Say,
    content: Say,
    said_base: SaidBase | None = None,
) -> str:
    """Return how an item stands over the whole plan, without suggested orders.

    With `said_base`, what is used is said to be about so much where the figures as
    said do not come to what is short as it is said elsewhere.
    """

    def amount(amount_base: float) -> str:
        if abs(amount_base) < LEAST_LACK_BASE:
            return "nothing"
        return say(node, amount_base)

    used = content(node, standing.used_base)
    if said_base and not _shortage_adds_up(node, standing, say, content, said_base):
        used = f"about {used.removeprefix('about ')}"
    gone = [f"{used} used"]
    if standing.expired_base >= LEAST_LACK_BASE:
        gone.append(f"{content(node, standing.expired_base)} expired")
    words = [
        f"{amount(standing.on_hand_base)} on hand",
        f"{amount(standing.on_order_base)} on order",
        f"{' and '.join(gone)} by {day_words(window.to_on)}",
    ]
    levels = _level_words(kitchen, node, content)
    kept = f"; {', '.join(levels)}" if levels else ""
    return f"{capitalized(', '.join(words))}{kept}."


def _level_words(kitchen: Kitchen, node: int, content: Say) -> list[str]:
    """Return an item's safety and par, as far as it has them."""
    levels = (
        ("safety", kitchen.nodes.safety_base),
        ("par", kitchen.nodes.par_base),
    )
    return [
        f"{level} {content(node, float(column[node]))}"
        for level, column in levels
        if column[node]
    ]


def _shortage_adds_up(
    node: int, standing: Standing, say: Say, content: Say, said_base: SaidBase
) -> bool:
    """Whether what goes less what is there comes to the shortage, all as it is said."""
    gone = (standing.used_base, standing.expired_base)
    there = (standing.on_hand_base, standing.on_order_base)
    short_base = sum(gone) - sum(there)
    if short_base < LEAST_LACK_BASE or standing.used_base < LEAST_LACK_BASE:
        return True
    if content(node, short_base).startswith("about "):
        return True
    said = [as_said(said_base, node, each, content) for each in gone]
    said += [-as_said(said_base, node, each, say) for each in there]
    return sum(said) == as_said(said_base, node, short_base, content)


def as_said(said_base: SaidBase, node: int, amount_base: float, say: Say) -> Fraction:
    """Return what the words for an amount come to; nothing for next to nothing."""
    if abs(amount_base) < LEAST_LACK_BASE:
        return Fraction(0)
    return said_base(node, say(node, amount_base))
