"""How the orders of a changed plan differ, a sentence an item or a move."""

from collections.abc import Sequence
from datetime import UTC, datetime

from django.utils.translation import gettext as _

from planning.engine.kitchen import DeliveryKey, Kitchen
from planning.engine.scenarios.added_orders import Buy, OrderChange, order_changes
from planning.plan.planner import Planned
from planning.plan.telling import Telling
from planning.sentences.packs import counted_packs
from planning.sentences.words import capitalized, listed


def moved_words(before: Planned, after: Planned, tell: Telling) -> list[str]:
    """Return what is bought otherwise, the first cut-off that it touches first.

    Items that move from one delivery to another together are said in one sentence.
    """
    changes = order_changes(before.plan.purchasing.orders, after.plan.purchasing.orders)
    groups: dict[object, list[OrderChange]] = {}
    for change in changes:
        groups.setdefault(_move(change) or change.node, []).append(change)
    return [
        _words(before.kitchen, group[0], tell)
        if len(group) == 1
        else _words_of_many(before.kitchen, group, tell)
        for group in groups.values()
    ]


def _move(change: OrderChange) -> tuple[DeliveryKey | None, ...]:
    """Return from which delivery to which an item moves as it is; else nothing."""
    packs = [[(buy.pack, buy.packs) for buy in side] for side in change.sides if side]
    if any(len(side) > 1 for side in change.sides) or packs[0] != packs[-1]:
        return ()
    return tuple(
        DeliveryKey(side[0].supplier, side[0].deliver_on) if side else None
        for side in change.sides
    )


def _words_of_many(
    kitchen: Kitchen, group: Sequence[OrderChange], tell: Telling
) -> str:
    names = [
        f"{kitchen.nodes.names[change.node]} ({counted_packs(buy.pack, buy.packs)})"
        for change in group
        for buy in [(change.would or change.was)[0]]
    ]
    was, would = (
        _delivery(kitchen, side[0], tell) if side else "" for side in group[0].sides
    )
    items = capitalized(listed(names, len(names)))
    return f"{items}: {_instead(was, would)}.{_order_by(group[0], tell)}"


def _words(kitchen: Kitchen, change: OrderChange, tell: Telling) -> str:
    name = capitalized(kitchen.nodes.names[change.node])
    was, would = (_bought(kitchen, bought, tell) for bought in change.sides)
    return f"{name}: {_instead(was, would)}.{_order_by(change, tell)}"


def _instead(was: str, would: str) -> str:
    if not would:
        return _("no longer {was}").format(was=was)
    return (
        _("{would}, instead of {was}").format(would=would, was=was)
        if was
        else _("also {would}").format(would=would)
    )


def _order_by(change: OrderChange, tell: Telling) -> str:
    """Return by when to order, where that is sooner than it was; else nothing."""
    if not change.would:
        return ""
    would = min((buy.order_by for buy in change.would), key=_in_utc)
    if not change.was:
        return _(" Order by {moment}.").format(moment=tell.moment(would))
    was = min((buy.order_by for buy in change.was), key=_in_utc)
    if _in_utc(would) >= _in_utc(was):
        return ""
    return _(" Order by {moment}, not {moment2}.").format(
        moment=tell.moment(would), moment2=tell.moment(was)
    )


def _in_utc(at: datetime) -> datetime:
    return at.astimezone(UTC)


def _bought(kitchen: Kitchen, bought: Sequence[Buy], tell: Telling) -> str:
    said = [
        f"{counted_packs(buy.pack, buy.packs)} {_delivery(kitchen, buy, tell)}"
        for buy in bought
    ]
    return listed(said, len(said)) if said else ""


def _delivery(kitchen: Kitchen, buy: Buy, tell: Telling) -> str:
    return _("from {name} {on_day}").format(
        name=kitchen.suppliers[buy.supplier].name, on_day=tell.on_day(buy.deliver_on)
    )
