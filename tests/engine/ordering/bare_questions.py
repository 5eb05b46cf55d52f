"""Questions of choosing without a kitchen: schedules that meet in deliveries."""

import itertools
import random
from types import SimpleNamespace

import numpy as np

from planning.engine.ordering.column_generation.master import MasterColumn, Rows, State
from planning.engine.ordering.instance.problems import TruckTerms

INFINITE = float("inf")


class Question:
    """A few items with a few schedules each, drawn the same for the same seed."""

    def __init__(self, seed, *, most_items=4, most_trucks=3, most_columns=4):
        dice = random.Random(seed)
        self.terms = [terms_of(dice) for _ in range(dice.randint(1, most_trucks))]
        self.items = dice.randint(1, most_items)
        self.columns = [
            column_of(dice, item, number, len(self.terms))
            for item in range(self.items)
            for number in range(dice.randint(1, most_columns))
        ]
        self.of_item = [
            [column for column in self.columns if column.task == item]
            for item in range(self.items)
        ]

    def rows(self):
        offers = [SimpleNamespace(delivery=n) for n in range(len(self.terms))]
        tasks = [SimpleNamespace(offers=offers) for _ in range(self.items)]
        return Rows(SimpleNamespace(terms=self.terms, tasks=tasks))

    def every_choice(self):
        return itertools.product(*self.of_item)

    def columns_of(self, choices):
        """Return the columns of a choice for every item, which all must be known."""
        found = []
        for item, choice in enumerate(choices):
            found += [col for col in self.of_item[item] if col.choice == choice]
        assert len(found) == self.items
        return found

    def cost(self, columns, states=None):
        """Return what schedules cost; goods that only fill a delivery up are lost."""
        goods, users = np.zeros(len(self.terms)), [0] * len(self.terms)
        for column in columns:
            for truck, amount in zip(column.trucks, column.goods, strict=True):
                goods[truck] += amount
                users[truck] += 1
        cost = sum(column.net_cost for column in columns)
        for truck, terms in enumerate(self.terms):
            state = (states or {}).get(truck)
            cost += truck_cost(terms, goods[truck], users[truck] > 0, state)
        return cost


def truck_cost(terms, goods, is_used, state):
    """Return a delivery's fee and fill; infinite where it cannot be as decided."""
    with_fee = terms.fee + max(0.0, terms.minimum - goods)
    free = INFINITE
    if terms.fee and terms.free_from is not None:
        free = max(0.0, max(terms.free_from, terms.minimum) - goods)
    if state == State.CLOSED:
        return INFINITE if is_used else 0.0
    if state == State.PAID:
        return with_fee
    if state == State.FREE:
        return free
    if state == State.OPEN or is_used:
        return min(with_fee, free)
    return 0.0


def terms_of(dice):
    return TruckTerms(
        fee=float(dice.choice([0, 3, 8])),
        minimum=float(dice.choice([0, 0, 10, 25])),
        free_from=dice.choice([None, 15.0, 30.0]),
    )


def column_of(dice, item, number, trucks):
    used = sorted(dice.sample(range(trucks), dice.randint(0, trucks)))
    goods = [float(dice.randint(1, 20)) for _ in used]
    worth = dice.randint(0, 4)
    net_cost = sum(goods) - worth + (0 if used else dice.randint(5, 30))
    return MasterColumn(item, (number,), float(net_cost), tuple(used), tuple(goods))
