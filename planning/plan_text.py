"""A plan in plain lines, for a terminal and for a morning's first coffee."""

from collections.abc import Iterator
from datetime import date, datetime

from planning.engine.plan import SuggestedOrder
from planning.plan_json import money
from planning.planner import Planned
from planning.shortfall_words import Telling, remedy_words, shortfall_words

CAKES_NAMED = 4


def plan_as_text(planned: Planned) -> str:
    """Return the plan's shortfalls, orders and warnings as lines of text."""
    window = planned.plan.window
    lines = [
        f"{planned.bakery.name}: {day_text(window.from_on)} to "
        f"{day_text(window.to_on)}, as of {moment_text(window.as_of, planned)}",
        "",
        "What runs short",
        *(_indented(_shortfalls(planned)) or ["  Nothing."]),
        "",
        "What to order",
        *(_indented(_orders(planned)) or ["  Nothing."]),
    ]
    warnings = [*planned.plan.warnings, *planned.plan.purchasing.warnings]
    if warnings:
        lines += ["", "Mind", *_indented(iter(warnings))]
    return "\n".join(lines)


def day_text(day: date) -> str:
    """Return a day with its weekday: `Sat 9 May 2026`."""
    return f"{day:%a} {day.day} {day:%b %Y}"


def moment_text(moment: datetime, planned: Planned) -> str:
    """Return a moment on the bakery's clock: `Mon 4 May 2026, 14:00`."""
    local = moment.astimezone(planned.bakery.zone)
    return f"{day_text(local.date())}, {local:%H:%M}"


def _indented(lines: Iterator[str]) -> list[str]:
    return [f"  {line}" for line in lines]


def _shortfalls(planned: Planned) -> Iterator[str]:
    tell = Telling(day_text, lambda moment: moment_text(moment, planned))
    for row in planned.plan.shortfalls:
        name = planned.kitchen.nodes.names[row.node]
        what = shortfall_words(planned, row, tell)
        yield f"{name} {what}; {remedy_words(planned, row, tell)}"
        if row.cakes:
            named = ", ".join(row.cakes[:CAKES_NAMED])
            more = len(row.cakes) - CAKES_NAMED
            yield f"  for {named}" + (f" and {more} more" if more > 0 else "")


def _orders(planned: Planned) -> Iterator[str]:
    for order in planned.plan.purchasing.orders:
        yield from _order(planned, order)


def _order(planned: Planned, order: SuggestedOrder) -> Iterator[str]:
    currency = planned.bakery.currency
    yield (
        f"{planned.kitchen.suppliers[order.supplier].name}, for "
        f"{day_text(order.deliver_on)}, order by {moment_text(order.order_by, planned)}"
    )
    for line in order.lines:
        name = planned.kitchen.nodes.names[line.pack.node]
        yield f"  {line.packs} x {line.pack.label}, {name}: {money(line.line_cost)}"
        yield from (f"      {sentence}" for sentence in line.because)
    yield (
        f"  goods {money(order.goods_cost)}, delivery {money(order.fee)}, "
        f"total {money(order.total_cost)} {currency}"
    )
