"""How much of something is made on each day, and what that is made of."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from planning.engine.demand.pegging import making_sum
from planning.engine.kitchen import NodeKind
from planning.web.page_words import PageWords
from planning.web.shortfalls.lack_chains import SumLine, adding_up
from planning.web.today.makings import MakingRow, makings_of


@dataclass(frozen=True, slots=True)
class MadeRow:
    """What is made on one day, with the sum behind it; of a cake there is none."""

    making: MakingRow
    lines: list[SumLine]
    comes_to: SumLine | None


def made_rows(words: PageWords, node: int) -> list[MadeRow]:
    """Return when one thing is made, how much, and why so much. One query."""
    return [_row(words, node, making) for making in makings_of(words, node)]


def _row(words: PageWords, node: int, making: MakingRow) -> MadeRow:
    if words.planned.kitchen.nodes.kind[node] == NodeKind.CAKE or not making.comes_to:
        return MadeRow(making, [], None)
    comes_to = SumLine(_("Made"), making.comes_to)
    lines = adding_up(words, node, _lines(words, node, making), comes_to)
    return MadeRow(making, lines, comes_to)


def _lines(words: PageWords, node: int, making: MakingRow) -> Iterator[SumLine]:
    added = making_sum(words.planned.explosion, node, making.on)
    yield SumLine(_("Needed by what takes it"), words.amount(node, added.needed_base))
    yield SumLine(
        _("Less what lies ready"), words.amount(node, added.ready_base), less=True
    )
    yield SumLine(_("Lost in the making"), words.amount(node, added.lost_base))
    yield SumLine(
        _("Left over of the batch, for later"), words.amount(node, added.left_over_base)
    )
