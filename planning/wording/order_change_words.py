"""How the orders of a changed plan differ, in words: one sentence an item."""

from collections.abc import Sequence

from planning.engine.kitchen import Kitchen
from planning.engine.scenarios.order_changes import Buy, OrderChange, order_changes
from planning.plan.planner import Planned
from planning.plan.telling import Telling
from planning.sentences.packs import counted_packs
from planning.sentences.words import capitalized, listed


def moved_words(before: Planned, after: Planned, tell: Telling) -> list[str]:
    """Return what is bought otherwise, the first cut-off that it touches first."""
    changes = order_changes(before.plan.purchasing.orders, after.plan.purchasing.orders)
    return [_words(before.kitchen, change, tell) for change in changes]


def _words(kitchen: Kitchen, change: OrderChange, tell: Telling) -> str:
    name = capitalized(kitchen.nodes.names[change.node])
    was, would = (
        _bought(kitchen, bought, tell) for bought in (change.was, change.would)
    )
    if not change.would:
        return f"{name}: no longer {was}."
    if not change.was:
        return f"{name}: also {would}."
    return f"{name}: {would}, instead of {was}."


def _bought(kitchen: Kitchen, bought: Sequence[Buy], tell: Telling) -> str:
    said = [
        f"{counted_packs(buy.pack, buy.packs)} from "
        f"{kitchen.suppliers[buy.supplier].name} {tell.on_day(buy.deliver_on)}"
        for buy in bought
    ]
    return listed(said, len(said))
