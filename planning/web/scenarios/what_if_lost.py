"""What a change takes beyond saving: no delivery can bring it, whatever is ordered."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from planning.engine.scenarios.rescue import Lost
from planning.plan.outlook import SMALLEST_LACK_BASE
from planning.plan.planner import Planned
from planning.web.page_words import PageWords
from planning.web.shortfalls.shortfall_rows import CakeFinder, CakeList


@dataclass(frozen=True, slots=True)
class LostItem:
    """One item that no delivery saves in one plan, or less of it in the other."""

    item_id: int
    item_name: str
    words: str
    more: str  # what differs from the other plan; blank where all of it does
    cakes: CakeList


def lost_in_one(
    planned: Planned,
    lost: Sequence[Lost],
    other: Sequence[Lost],
    today: date,
    more: str,
) -> list[LostItem]:
    """Return what is lost in a plan, or more of it, or sooner, than in the other.

    `more` says by how much. At most one query, for the cakes.
    """
    known = {row.node: row for row in other}
    found = [row for row in lost if _is_worse(row, known.get(row.node))]
    if not found:
        return []
    words = PageWords(planned, today)
    cakes = CakeFinder(words, {cake for row in found for cake in row.cakes})
    nodes = planned.kitchen.nodes
    return [
        LostItem(
            item_id=nodes.ids[row.node],
            item_name=nodes.names[row.node],
            words=_words(words, row),
            more=_more(words, row, known.get(row.node), more),
            cakes=cakes.named(row.cakes),
        )
        for row in found
    ]


def _is_worse(row: Lost, known: Lost | None) -> bool:
    if known is None:
        return True
    more_base = row.short_base - known.short_base
    if abs(more_base) > SMALLEST_LACK_BASE:
        return more_base > 0
    return row.first_on < known.first_on


def _words(words: PageWords, row: Lost) -> str:
    amount = words.gap(row.node, row.short_base)
    if len(row.by_day) == 1:
        return _("{amount} to buy by hand, by {day}.").format(
            amount=amount, day=words.day(row.first_on)
        )
    first_base = row.by_day[0][1]
    return _(
        "{amount} to buy by hand, {gap} of it by {day}, the last by {day2}."
    ).format(
        amount=amount,
        gap=words.gap(row.node, first_base),
        day=words.day(row.first_on),
        day2=words.day(row.by_day[-1][0]),
    )


def _more(words: PageWords, row: Lost, known: Lost | None, more: str) -> str:
    if known is None:
        return ""
    more_base = row.short_base - known.short_base
    if more_base > SMALLEST_LACK_BASE:
        return more.format(words.gap(row.node, more_base))
    return _("In the other plan it is by {day}.").format(day=words.day(known.first_on))
