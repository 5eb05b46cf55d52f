"""What runs short and what still saves it, in words: one wording for every door.

How a day and a moment are said is the door's own: a terminal says `Fri 8 May 2026`,
a page `Friday`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol

from planning.amount_words import AmountWords
from planning.engine.kitchen import Kitchen
from planning.engine.plan import Shortfall, ShortfallKind

KIND_WORDS = {
    ShortfallKind.OUT: "runs out {day}, {amount} short",
    ShortfallKind.BELOW_SAFETY: "falls below safety {day}, by up to {amount}",
    ShortfallKind.BELOW_PAR: "ends {amount} below par",
}


@dataclass(frozen=True, slots=True)
class Telling:
    """How a day and a moment are said."""

    day: Callable[[date], str]
    moment: Callable[[datetime], str]


class LookAhead(Protocol):
    """What was worked out from a kitchen: a whole plan, or less than one."""

    @property
    def kitchen(self) -> Kitchen:
        """The kitchen that the shortfalls speak of."""

    @property
    def words(self) -> AmountWords:
        """The words its amounts are said in."""


def shortfall_words(ahead: LookAhead, row: Shortfall, tell: Telling) -> str:
    """Return what happens to an item, in words with its figures."""
    return KIND_WORDS[row.kind].format(
        day=tell.day(row.first_on),
        amount=ahead.words.short(row.node, row.short_base),
    )


def remedy_words(ahead: LookAhead, row: Shortfall, tell: Telling) -> str:
    """Return the last moment that still saves it, or that nothing does."""
    if row.remedy is None:
        if not is_sold(ahead, row.node):
            return "no supplier sells it: give it a pack, or buy it by hand"
        return "too late for any delivery: buy it by hand, or change the plan"
    supplier = ahead.kitchen.suppliers[row.remedy.supplier].name
    return (
        f"order from {supplier} by {tell.moment(row.remedy.order_by)} "
        f"for {tell.day(row.remedy.deliver_on)}"
    )


def is_sold(ahead: LookAhead, node: int) -> bool:
    """Whether any supplier has a pack of it."""
    return any(pack.node == node for pack in ahead.kitchen.packs)
