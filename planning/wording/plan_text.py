"""A plan in plain lines, for a terminal and for a morning's first coffee.

What runs short stands by the moment up to which it can still be saved, the first of
them on top; what no delivery saves comes before all.
"""

import re
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from decimal import Decimal
from itertools import groupby
from textwrap import wrap

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from planning.engine.kitchen import DecidedLine
from planning.engine.plan import (
    Purchasing,
    Remedy,
    Shortfall,
    SuggestedOrder,
)
from planning.engine.scenarios.ways_out import Way
from planning.plan.planner import Planned
from planning.sentences.cakes_named import cakes_words
from planning.sentences.words import capitalized, day_words, moment_words
from planning.wording.better_words import better_words
from planning.wording.shortfall_words import BEHIND_ITS_NAME, without_delivery_heading
from stock.wording.money_words import money_words

WIDTH = 96
# What comes first among the shortfalls; those with a delivery go by its cut-off.
WITHOUT_DELIVERY_AT = {
    Way.TOO_LATE: 1,
    Way.NOT_SOLD: 2,
    Way.NEVER_USABLE: 2,
    Way.NO_DELIVERY: 4,
}
WITH_DELIVERY_AT = 3
# 12 lb, 2:00 pm; Dec 7; Mon Dec
KEPT_TOGETHER = (
    re.compile(r"(?<=\d) (?=[a-z])"),
    re.compile(r"(?<=[a-z]) (?=\d)"),
    re.compile(r"(?<=Mon|Tue|Wed|Thu|Fri|Sat|Sun) (?=[A-Z])"),
)


def plan_as_text(planned: Planned) -> str:
    """Return the plan's shortfalls, orders and warnings as lines of text."""
    window = planned.plan.window
    lines = [
        _("{name}: {day} to {day2}, {year}, as of {moment}").format(
            name=planned.bakery.name,
            day=day_words(window.from_on),
            day2=day_words(window.to_on),
            year=window.to_on.year,
            moment=_moment(window.as_of, planned),
        ),
        "",
        _("What runs short"),
        *(_indented(_shortfalls(planned)) or [_("  Nothing.")]),
        "",
        _("What to order"),
        *(_indented(_orders(planned)) or [_("  Nothing.")]),
    ]
    warnings = [*planned.warnings, *planned.order_warnings]
    if warnings:
        lines += ["", _("Warnings"), *_indented(_grouped(warnings))]
    return "\n".join(lines)


def _moment(moment: datetime, planned: Planned) -> str:
    return moment_words(moment.astimezone(planned.bakery.zone))


def _indented(lines: Iterator[str]) -> list[str]:
    return [f"  {line}".rstrip() for line in lines]


def _shortfalls(planned: Planned) -> Iterator[str]:
    rows = sorted(planned.plan.shortfalls, key=lambda row: _urgency(planned, row))
    names = [_name(planned, row) for row in rows]
    width = max(map(len, names), default=0)
    for head, group in groupby(rows, key=lambda row: _remedy_words(planned, row)):
        yield f"{head}:"
        for row in group:
            named = f"{_name(planned, row):<{width}}  {_lack_words(planned, row)}"
            yield from _wrapped(f"{named}{_cakes_words(planned, row)}", 2, width + 2)


def _urgency(planned: Planned, row: Shortfall) -> tuple[int, str, str]:
    """Return how soon something has to be done, the soonest first."""
    out = planned.ways_out.of(row)
    if out.delivery is None:
        heading = without_delivery_heading(planned, row, out.way)
        return WITHOUT_DELIVERY_AT[out.way], heading, ""
    supplier = planned.kitchen.suppliers[out.delivery.supplier].name
    at = out.delivery.order_by.astimezone(UTC)
    order = out.waiting.reference if out.waiting else ""
    which = f"{supplier} {out.delivery.deliver_on} {order}"
    return WITH_DELIVERY_AT, at.isoformat(), which


def _name(planned: Planned, row: Shortfall) -> str:
    return capitalized(planned.kitchen.nodes.names[row.node])


def _remedy_words(planned: Planned, row: Shortfall) -> str:
    out = planned.ways_out.of(row)
    if out.delivery is None:
        return capitalized(without_delivery_heading(planned, row, out.way))
    if out.waiting is not None:
        return _send_by_words(planned, out.delivery, out.waiting)
    return _order_by_words(planned, out.delivery)


def _order_by_words(planned: Planned, delivery: Remedy | SuggestedOrder) -> str:
    return _("{name}, order by {moment} for {day}").format(
        name=planned.kitchen.suppliers[delivery.supplier].name,
        moment=_moment(delivery.order_by, planned),
        day=day_words(delivery.deliver_on),
    )


def _send_by_words(
    planned: Planned, delivery: Remedy | SuggestedOrder, waiting: DecidedLine
) -> str:
    words = (
        _("{name}, send {reference} by {moment} for {day}")
        if waiting.is_approved
        else _("{name}, approve and send {reference} by {moment} for {day}")
    )
    return words.format(
        name=planned.kitchen.suppliers[delivery.supplier].name,
        reference=waiting.reference,
        moment=_moment(delivery.order_by, planned),
        day=day_words(delivery.deliver_on),
    )


def _lack_words(planned: Planned, row: Shortfall) -> str:
    return BEHIND_ITS_NAME[row.kind].format(
        day=day_words(row.first_on),
        amount=planned.words.content(row.node, row.short_base),
    )


def _cakes_words(planned: Planned, row: Shortfall) -> str:
    cakes = cakes_words(planned.kitchen, row.cakes)
    return _("; for {cakes}").format(cakes=cakes) if cakes else ""


def _orders(planned: Planned) -> Iterator[str]:
    purchasing = planned.plan.purchasing
    for order in sorted(purchasing.orders, key=_cut_off):
        yield from _order(planned, order)
        yield ""
    if purchasing.orders:
        yield _totals(planned, purchasing)
    if planned.usual is not None:
        yield from _wrapped(capitalized(better_words(planned)), 0)


def _cut_off(order: SuggestedOrder) -> datetime:
    return order.order_by.astimezone(UTC)


def _order(planned: Planned, order: SuggestedOrder) -> Iterator[str]:
    waiting = planned.waiting(order)
    if waiting is None:
        yield f"{_order_by_words(planned, order)}:"
    else:
        yield f"{_send_by_words(planned, order, waiting)}:"
    names = planned.kitchen.nodes.names
    goods = [
        f"{line.packs:,} \N{MULTIPLICATION SIGN} {line.pack.label}, "
        f"{names[line.pack.node]}"
        for line in order.lines
    ]
    costs = [_money(planned, line.line_cost) for line in order.lines]
    wide, far = max(map(len, goods)), max(map(len, costs))
    for line, what, cost in zip(order.lines, goods, costs, strict=True):
        yield f"  {what:<{wide}}  {cost:>{far}}"
        for sentence in planned.order_sentences.because(line):
            yield from _wrapped(sentence, 6)
    fee = (
        _("delivery {money}").format(money=_money(planned, order.fee))
        if order.fee
        else _("free delivery")
    )
    yield (
        _("  Goods {money}, {fee}: {money2}").format(
            money=_money(planned, order.goods_cost),
            fee=fee,
            money2=_money(planned, order.total_cost),
        )
    )


def _totals(planned: Planned, purchasing: Purchasing) -> str:
    count = len(purchasing.orders)
    total = purchasing.total_cost
    return ngettext(
        "{count} order: goods {money} and delivery {money2}, together {money3}.",
        "{count} orders: goods {money} and delivery {money2}, together {money3}.",
        count,
    ).format(
        count=count,
        money=_money(planned, purchasing.goods_cost),
        money2=_money(planned, purchasing.fees),
        money3=_money(planned, total),
    )


def _money(planned: Planned, amount: Decimal) -> str:
    return money_words(amount, planned.bakery.currency)


def _grouped(warnings: Sequence[str]) -> Iterator[str]:
    """Yield warnings, those of one thing under its name."""
    for head, group in groupby(warnings, key=lambda words: words.partition(": ")[0]):
        sentences = list(group)
        if len(sentences) == 1:
            yield from _wrapped(sentences[0], 0)
            continue
        yield f"{head}:"
        for sentence in sentences:
            yield from _wrapped(capitalized(sentence.partition(": ")[2]), 2)


def _wrapped(sentence: str, indent: int, hanging: int = 2) -> Iterator[str]:
    """Yield a sentence as lines, all but the first further in.

    Figures stay with their units, and a table's columns where they are.
    """
    bound = sentence.replace("  ", "\N{NO-BREAK SPACE}" * 2)
    for pattern in KEPT_TOGETHER:
        bound = pattern.sub("\N{NO-BREAK SPACE}", bound)
    begin, further = " " * indent, " " * (indent + hanging)
    for line in wrap(bound, WIDTH, initial_indent=begin, subsequent_indent=further):
        yield line.replace("\N{NO-BREAK SPACE}", " ")
