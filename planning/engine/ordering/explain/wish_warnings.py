"""What a buyer's wishes leave short that some other order would have saved."""

from collections.abc import Sequence

import numpy as np

from planning.engine.deliveries import Delivery
from planning.engine.kitchen import Kitchen, Window
from planning.engine.ordering.explain.answers import lacking_warnings
from planning.engine.ordering.explain.order_comparison import counts_of
from planning.engine.ordering.explain.shortages import Shortages
from planning.engine.ordering.instance.problems import Problem, read_problem
from planning.engine.ordering.instance.selections import Selector
from planning.engine.ordering.instance.wishes import NO_WISHES, Wishes
from planning.engine.ordering.pricing.tasks import Task, follow
from planning.engine.plan import Demand, Purchasing
from planning.engine.shelves.supplies import window_days
from planning.engine.usual_rule.standing import Say
from planning.engine.words import capitalized, day_words
from stock.wording.money_words import money_words

BECAUSE_OF_WISHES = "because of your wishes."


def wish_warnings(
    kitchen: Kitchen,
    window: Window,
    demand: Demand,
    deliveries: Sequence[Delivery],
    purchasing: Purchasing,
    wishes: Wishes,
    say: Say,
    content: Say | None = None,
) -> tuple[str, ...]:
    """Return the warnings of orders that keep to wishes: those of the wishes first.

    What the wishes alone leave short is put down to them, and is not said to be beyond
    every delivery. `content` words the amounts that the orders' own warnings name.
    """
    free = read_problem(kitchen, window, demand, deliveries, NO_WISHES)
    beyond_wishes, beyond_all = (
        lacking_warnings(free, demand, deliveries, purchasing, asked, content or say)
        for asked in (wishes, NO_WISHES)
    )
    others = (each for each in purchasing.warnings if each not in beyond_wishes)
    unkept = _unkept(free, purchasing, wishes)
    return (*unkept, *_left_short(free, purchasing, say), *beyond_all, *others)


def _unkept(free: Problem, purchasing: Purchasing, wishes: Wishes) -> list[str]:
    """Return why fixed lines are not on the orders: a sentence for each delivery."""
    kitchen = free.kitchen
    pack_of = {pack.pack_id: pack for pack in kitchen.packs}
    ordered = {order.delivery_key for order in purchasing.orders}
    missed = {
        (pack_of[line.pack_id].supplier, line.deliver_on)
        for line in wishes.fixed_lines
        if line.packs and line.pack_id in pack_of
    }
    return [
        f"{kitchen.suppliers[place].name} does not come on {day_words(day)}: with what "
        "you fixed the order there stays below its minimum of "
        f"{_minimum(kitchen, place)}."
        for place, day in sorted(missed - ordered, key=lambda truck: truck[::-1])
        if kitchen.suppliers[place].minimum_order
    ]


def _minimum(kitchen: Kitchen, place: int) -> str:
    minimum = kitchen.suppliers[place].minimum_order
    return money_words(minimum, kitchen.bakery.currency)


def _left_short(free: Problem, purchasing: Purchasing, say: Say) -> list[str]:
    selector, counts = Selector(free), counts_of(free, purchasing)
    found = []
    for task in free.tasks:
        bought = selector.bought_base(counts, task)
        amounts = [bought.get(offer.delivery, 0.0) for offer in task.offers]
        sentence = _sentence(free, task, amounts, say)
        if sentence:
            found.append(sentence)
    return found


def _sentence(free: Problem, task: Task, amounts: list[float], say: Say) -> str:
    """Return what is short of an item that could be helped; blank if nothing is."""
    nodes, days = free.kitchen.nodes, window_days(free.window)
    name = capitalized(nodes.names[task.node])
    course = follow(task, amounts)
    short = Shortages(task, course)
    if short.out.any():
        lacking = say(task.node, short.most_out_base)
        day = day_words(days[int(np.argmax(short.out))])
        return f"{name}: out on {day}, {lacking} short, {BECAUSE_OF_WISHES}"
    for level, wanted_base, is_low in (
        ("safety", task.safety_base, short.low),
        ("par", free.par.full_base[task.node], short.below_par),
    ):
        if is_low.any():
            lack_base = np.asarray(wanted_base - course.closing_base)[is_low]
            lacking = say(task.node, float(lack_base.max()))
            day = day_words(days[int(np.argmax(is_low))])
            return f"{name}: {lacking} below its {level} on {day}, {BECAUSE_OF_WISHES}"
    return ""
