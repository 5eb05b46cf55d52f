"""What a shortfall is made of: the sum behind its figure, and its chain of cakes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from planning.engine.demand.pegging import Share, shares
from planning.engine.plan import Shortfall, ShortfallKind
from planning.engine.shortfalls.after_orders import LackSum, lack_sum
from planning.web.page_words import PageWords, SaidAmount
from planning.web.shortfalls.shortfall_rows import Cake, CakeFinder
from stock.web.amounts import kept_together

KEPT = {
    ShortfallKind.BELOW_SAFETY: gettext_lazy("Safety, to stay"),
    ShortfallKind.BELOW_PAR: gettext_lazy("Par"),
}
COMES_TO = {
    ShortfallKind.OUT: gettext_lazy("Short"),
    ShortfallKind.BELOW_SAFETY: gettext_lazy("Below safety"),
    ShortfallKind.BELOW_PAR: gettext_lazy("Below par"),
}


@dataclass(frozen=True, slots=True)
class SumLine:
    """One line of a sum: `less` is taken off."""

    label: str
    amount: SaidAmount
    less: bool = False


@dataclass(frozen=True, slots=True)
class CakeShare:
    """So much of the item for one line of the bake plan."""

    amount: SaidAmount
    cake: Cake
    between: str  # what stands between the taker and the cake


@dataclass(frozen=True, slots=True)
class Taking:
    """So much of the item for one recipe, part or cake, and for whom that is made."""

    item_id: int
    name: str
    amount: SaidAmount
    cakes: list[CakeShare]
    rounding: SumLine | None  # what rounding made of its cakes' amounts as said


@dataclass(frozen=True, slots=True)
class Chain:
    """Why an item is short: a sum, and who takes what of it."""

    lines: list[SumLine]
    comes_to: SumLine
    used_words: str
    takings: list[Taking]
    rounding: SumLine | None  # what rounding made of the takings' amounts as said


def lack_chain(
    words: PageWords, lack: Shortfall, cakes: CakeFinder | None = None
) -> Chain:
    """Return what the figure of a shortfall is made of.

    One query, for the cakes; none where a finder of all cakes is handed in.
    """
    planned = words.planned
    added = lack_sum(planned.kitchen, planned.plan.projection, lack)
    days = [
        day
        for day in planned.plan.projection.days
        if added.from_on <= day <= added.to_on
    ]
    comes_to = SumLine(str(COMES_TO[lack.kind]), words.gap(lack.node, added.short_base))
    takings = _takings(words, lack.node, days, cakes)
    used = words.gap(lack.node, added.used_base)
    return Chain(
        lines=adding_up(words, lack.node, _lines(words, lack, added), comes_to),
        comes_to=comes_to,
        used_words=_span(words, "used", added.from_on, added.to_on),
        takings=takings,
        rounding=_rounding(words, lack.node, [each.amount for each in takings], used),
    )


def _takings(
    words: PageWords, node: int, days: list[date], cakes: CakeFinder | None
) -> list[Taking]:
    found = shares(words.planned.explosion, node, days)
    cakes = cakes or CakeFinder(words, {share.reference for share in found})
    nodes = words.planned.kitchen.nodes
    return [
        _taking(words, node, nodes.ids[taker], list(group), cakes)
        for taker, group in groupby(found, key=lambda share: share.taker)
    ]


def adding_up(
    words: PageWords, node: int, lines: Iterable[SumLine], comes_to: SumLine
) -> list[SumLine]:
    """Return the lines of a sum that are not nothing, and what rounding made of them.

    So the words add up as they stand, not only the figures under them.
    """
    found = [line for line in lines if not line.amount.is_nothing]
    said = words.planned.words
    rest_base = said.said_base(node, comes_to.amount.words) - sum(
        said.said_base(node, line.amount.words) * (-1 if line.less else 1)
        for line in found
    )
    if not rest_base:
        return found
    rounding = kept_together(said.content(node, float(abs(rest_base))))
    return [
        *found,
        SumLine(_("Rounding"), SaidAmount(rounding, rounding), rest_base < 0),
    ]


def _lines(words: PageWords, lack: Shortfall, added: LackSum) -> Iterator[SumLine]:
    def line(label: str, amount_base: float, *, less: bool = False) -> SumLine:
        return SumLine(label, words.gap(lack.node, amount_base), less)

    from_words, to_words = words.day(added.from_on), words.day(added.to_on)
    yield line(_span(words, _("Used"), added.from_on, added.to_on), added.used_base)
    yield line(_("Expired"), added.expired_base)
    yield line(str(KEPT.get(lack.kind, "")), added.kept_base)
    yield line(
        _("Comes {to}, to be used from the next day").format(to=to_words),
        added.waits_base,
    )
    opens = _("Less on hand when {start} begins").format(start=from_words)
    yield line(opens, added.opening_base, less=True)
    yield line(
        _span(words, _("Less on order"), added.from_on, added.to_on),
        added.received_base,
        less=True,
    )
    yield line(
        _("Less on order for after {to}").format(to=to_words),
        added.later_base,
        less=True,
    )


def _span(words: PageWords, what: str, from_on: date, to_on: date) -> str:
    if from_on == to_on:
        return f"{what} {words.day(from_on)}"
    return _("{what} {day} to {day2}").format(
        what=what, day=words.day(from_on), day2=words.day(to_on)
    )


def _taking(
    words: PageWords, node: int, item_id: int, group: list[Share], cakes: CakeFinder
) -> Taking:
    nodes = words.planned.kitchen.nodes
    said = [words.gap(node, share.takes_base) for share in group]
    amount = words.gap(node, sum(share.takes_base for share in group))
    return Taking(
        item_id=item_id,
        name=nodes.names[group[0].taker],
        amount=amount,
        rounding=_rounding(words, node, said, amount),
        cakes=[
            CakeShare(
                amount=each,
                cake=cakes.one(share.reference),
                between=", ".join(nodes.names[between] for between in share.between),
            )
            for share, each in zip(group, said, strict=True)
        ],
    )


def _rounding(
    words: PageWords, node: int, parts: Iterable[SaidAmount], total: SaidAmount
) -> SumLine | None:
    """Return what rounding made of parts that come to a total, all as they are said.

    A total is said as everywhere else, not as the sum of these parts.
    """
    lines = [SumLine("", each) for each in parts if not each.is_nothing]
    added = adding_up(words, node, lines, SumLine("", total))
    return added[-1] if len(added) > len(lines) else None
