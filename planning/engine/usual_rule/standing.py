"""How an item stands over the whole plan, in words whose figures add up as said."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from planning.engine.kitchen import Kitchen, Window
from planning.engine.shelves.projection import LEAST_LACK_BASE
from planning.engine.words import capitalized, day_words

Say = Callable[[int, float], str]  # a node's amount in its base unit, in words
SaidBase = Callable[[int, str], Fraction]  # what such words come to, as they stand

# A figure that takes up the rounding of those beside it may be off by so much of
# itself: as much as an amount is rounded before it is said to be about so much.
MOST_ROUNDED_FRACTION = 0.02


@dataclass(frozen=True, slots=True)
class Standing:
    """How an item stands over the whole plan, without suggested orders."""

    on_hand_base: float  # in date on the first day
    on_order_base: float  # that comes within the plan
    used_base: float
    expired_base: float  # goes out of date within the plan


@dataclass(frozen=True, slots=True)
class Sayings:
    """How amounts of a node are said, and what such words come to as they stand.

    `say` words an amount as it is counted, `content` what is in packs, `exactly` the
    same unrounded: blank where no familiar words say just that.
    """

    say: Say
    content: Say
    said_base: SaidBase | None = None
    exactly: Say | None = None

    def as_said(self, node: int, amount_base: float, say: Say) -> Fraction:
        """Return what the words for an amount come to; nothing for next to nothing."""
        if self.said_base is None or abs(amount_base) < LEAST_LACK_BASE:
            return Fraction(0)
        return self.said_base(node, say(node, amount_base))

    def just(self, node: int, amount_base: Fraction) -> str:
        """Return words that come to just so much as they stand; blank without any."""
        if self.said_base is None or amount_base <= 0:
            return ""
        for say in filter(None, (self.content, self.exactly)):
            words = say(node, float(amount_base)).removeprefix("about ")
            if words and self.said_base(node, words) == amount_base:
                return words
        return ""


def standing_words(
    kitchen: Kitchen,
    window: Window,
    node: int,
    standing: Standing,
    sayings: Sayings,
    comes_to_base: Fraction | None = None,
) -> str:
    """Return how an item stands over the whole plan, without suggested orders.

    What is used is said so that the figures, as they are said, come to what is short
    as it is said elsewhere, or to `comes_to_base`. Where no words do that, they are
    said to be rounded.
    """
    content = sayings.content

    def amount(amount_base: float) -> str:
        if abs(amount_base) < LEAST_LACK_BASE:
            return "nothing"
        return sayings.say(node, amount_base)

    used = _used_words(node, standing, sayings, comes_to_base)
    gone = [f"{used or content(node, standing.used_base)} used"]
    if standing.expired_base >= LEAST_LACK_BASE:
        gone.append(f"{content(node, standing.expired_base)} expired")
    words = [
        f"{amount(standing.on_hand_base)} on hand",
        f"{amount(standing.on_order_base)} on order",
        f"{' and '.join(gone)} by {day_words(window.to_on)}",
    ]
    levels = _level_words(kitchen, node, content)
    kept = f"; {', '.join(levels)}" if levels else ""
    return f"{capitalized(', '.join(words))}{kept}{'' if used else ' (rounded)'}."


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


def _used_words(
    node: int, standing: Standing, sayings: Sayings, comes_to_base: Fraction | None
) -> str:
    """Return what is used, so that the figures add up as said; blank if none do."""
    used = sayings.content(node, standing.used_base)
    there = (standing.on_hand_base, standing.on_order_base)
    short_base = standing.used_base + standing.expired_base - sum(there)
    is_sum = sayings.said_base and standing.used_base >= LEAST_LACK_BASE
    if not is_sum or (comes_to_base is None and short_base < LEAST_LACK_BASE):
        return used
    if comes_to_base is None:
        comes_to_base = sayings.as_said(node, short_base, sayings.content)
    rest_base = (
        comes_to_base
        + sum(sayings.as_said(node, each, sayings.say) for each in there)
        - sayings.as_said(node, standing.expired_base, sayings.content)
    )
    if rest_base == sayings.as_said(node, standing.used_base, sayings.content):
        return used
    off_base = abs(float(rest_base) - standing.used_base)
    if off_base > standing.used_base * MOST_ROUNDED_FRACTION:
        return ""
    return sayings.just(node, rest_base)
