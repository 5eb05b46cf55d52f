"""What runs short and what still saves it, in words: one wording for every door.

How a day and a moment are said is the door's own: a terminal says `Fri 8 May 2026`,
a page `Friday`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime

from planning.engine.plan import Shortfall, ShortfallKind
from planning.planner import Planned

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


def shortfall_words(planned: Planned, row: Shortfall, tell: Telling) -> str:
    """Return what happens to an item, in words with its figures."""
    return KIND_WORDS[row.kind].format(
        day=tell.day(row.first_on),
        amount=planned.words.short(row.node, row.short_base),
    )


def remedy_words(planned: Planned, row: Shortfall, tell: Telling) -> str:
    """Return the last moment that still saves it, or that nothing does."""
    if row.remedy is None:
        if not is_sold(planned, row.node):
            return "no supplier sells it: give it a pack, or buy it by hand"
        return "too late for any delivery: buy it by hand, or change the plan"
    supplier = planned.kitchen.suppliers[row.remedy.supplier].name
    return (
        f"order from {supplier} by {tell.moment(row.remedy.order_by)} "
        f"for {tell.day(row.remedy.deliver_on)}"
    )


def is_sold(planned: Planned, node: int) -> bool:
    """Whether any supplier has a pack of it."""
    return any(pack.node == node for pack in planned.kitchen.packs)
