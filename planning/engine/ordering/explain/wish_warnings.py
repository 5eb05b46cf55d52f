"""What a buyer's wishes leave short that some other order would have saved."""

from collections.abc import Sequence

import numpy as np

from planning.engine.deliveries import PossibleDelivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.ordering.explain.answers import lacking_warnings
from planning.engine.ordering.explain.found_warnings import (
    LeftShortWarning,
    UnkeptWarning,
)
from planning.engine.ordering.explain.order_comparison import counts_of
from planning.engine.ordering.explain.reasons import Shortages
from planning.engine.ordering.instance.problems import Problem, read_problem
from planning.engine.ordering.instance.selections import Selector
from planning.engine.ordering.instance.wishes import NO_WISHES, Wishes
from planning.engine.ordering.pricing.tasks import Task, follow
from planning.engine.plan import Demand, Purchasing, ShortfallKind
from planning.engine.reasons import OrderWarning
from planning.engine.shelves.supplies import window_days


def wish_warnings(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[PossibleDelivery],
    purchasing: Purchasing,
    wishes: Wishes,
) -> tuple[OrderWarning, ...]:
    """Return the warnings of orders that keep to wishes: those of the wishes first.

    What the wishes alone leave short is put down to them, and is not said to be beyond
    every delivery.
    """
    free = read_problem(kitchen, window, demand, deliveries, NO_WISHES)
    beyond_wishes, beyond_all = (
        lacking_warnings(free, demand, deliveries, purchasing, asked)
        for asked in (wishes, NO_WISHES)
    )
    others = (each for each in purchasing.warnings if each not in beyond_wishes)
    unkept = _unkept(free, purchasing, wishes)
    return (*unkept, *_left_short(free, purchasing), *beyond_all, *others)


def _unkept(
    free: Problem, purchasing: Purchasing, wishes: Wishes
) -> list[UnkeptWarning]:
    """Return the deliveries of fixed lines that are not on the orders, by day."""
    kitchen = free.kitchen
    pack_of = {pack.pack_id: pack for pack in kitchen.packs}
    ordered = {order.delivery_key for order in purchasing.orders}
    missed = {
        (pack_of[line.pack_id].supplier, line.deliver_on)
        for line in wishes.fixed_lines
        if line.packs and line.pack_id in pack_of
    }
    return [
        UnkeptWarning(place, day)
        for place, day in sorted(missed - ordered, key=lambda truck: truck[::-1])
        if kitchen.suppliers[place].minimum_order
    ]


def _left_short(free: Problem, purchasing: Purchasing) -> list[LeftShortWarning]:
    selector, counts = Selector(free), counts_of(free, purchasing)
    found = []
    for task in free.tasks:
        bought = selector.bought_base(counts, task)
        amounts = [bought.get(offer.delivery, 0.0) for offer in task.offers]
        short = _short(free, task, amounts)
        if short is not None:
            found.append(short)
    return found


def _short(free: Problem, task: Task, amounts: list[float]) -> LeftShortWarning | None:
    """Return what is short of an item that could be helped; None if nothing is."""
    node, days = task.node, window_days(free.window)
    course = follow(task, amounts)
    short = Shortages(task, course)
    if short.out.any():
        on = days[int(np.argmax(short.out))]
        return LeftShortWarning(node, ShortfallKind.OUT, on, short.most_out_base)
    for kind, wanted_base, is_low in (
        (ShortfallKind.BELOW_SAFETY, task.safety_base, short.low),
        (ShortfallKind.BELOW_PAR, free.par.full_base[node], short.below_par),
    ):
        if is_low.any():
            lack_base = np.asarray(wanted_base - course.closing_base)[is_low]
            on = days[int(np.argmax(is_low))]
            return LeftShortWarning(node, kind, on, float(lack_base.max()))
    return None
