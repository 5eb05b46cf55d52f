"""The search for the best orders: always something to show, better as it goes.

A bound comes from prices of the deliveries at which every item by itself can do no
better; whole choices come from the schedules that were found at such prices.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.choosing import Limits, best_choice
from planning.engine.ordering.efforts import Effort
from planning.engine.ordering.master import (
    Column,
    Duals,
    Master,
    column_of,
    trucks_bound,
)
from planning.engine.ordering.pricing import ItemPricer, Prices
from planning.engine.ordering.problems import Problem
from planning.engine.ordering.selections import Selection, Selector
from planning.engine.ordering.tasks import Choice

PROVEN_GAP = 1e-4
PART_CENT = 0.01
LEAST_GAIN = 1e-6


class Stopped(Exception):  # noqa: N818 (it is no error)
    """Somebody asked to stop, or the time is over."""


@dataclass
class Search:
    """Keeps the best selection and the best bound of one problem."""

    problem: Problem
    effort: Effort
    clock: Callable[[], float]
    told: Callable[["Search", str], None]
    should_stop: Callable[[], bool]
    best: Selection | None = None
    bound: float = -np.inf
    _choices: dict[int, Choice] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._ends_at = self.clock() + self.effort.seconds
        self.pricers = [ItemPricer(task) for task in self.problem.tasks]
        self.selector = Selector(self.problem)
        self.master = Master(self.problem)

    @property
    def gap(self) -> float:
        """How far the best selection is from the bound, in parts of what is paid."""
        if self.best is None:
            return np.inf
        if not self.best.paid:
            return 0.0
        return max(0.0, (self.best.cost - self.bound) / self.best.paid)

    @property
    def is_proven(self) -> bool:
        """Whether nothing is left to look for."""
        return self.best is not None and self.best.will_do and self.gap <= PROVEN_GAP

    def offer(self, selection: Selection) -> bool:
        """Keep a selection if it is better than the best; return whether it is."""
        best = self.best
        if best is not None:
            found, known = _rank(selection), _rank(best)
            if found[:2] > known[:2]:
                return False
            if found[:2] == known[:2] and found[2] >= known[2] - LEAST_GAIN:
                return False
        self.best = selection
        return True

    def check(self) -> None:
        """Stop if that is asked for or the time is over."""
        if self.should_stop() or self.clock() >= self._ends_at:
            raise Stopped

    def run(self) -> None:
        """Look until the proof is there, the effort is spent, or somebody stops it."""
        try:
            self._first()
            self._generate()
            self._choose()
        except Stopped:
            return

    def _first(self) -> None:
        """Find a first choice of our own: every item as if fees were shared.

        Deliveries that come out too small are closed one after the other.
        """
        self.bound, _ = self._price(Duals.nothing(self.problem))
        prices = _guessed_prices(self.problem)
        choices = [
            pricer.cheapest(prices).choice or _most(pricer) for pricer in self.pricers
        ]
        self.master.add([self._column(*pair) for pair in enumerate(choices)])
        for _ in range(len(self.problem.trucks)):
            small = self._too_small(choices, prices)
            if small is None:
                break
            prices.is_closed[small] = True
            for number, pricer in enumerate(self.pricers):
                trucks = self._column(number, choices[number]).trucks
                if small in trucks:
                    choice = pricer.cheapest(prices).choice
                    if choice is None:  # nobody else can bring it
                        prices.is_closed[small] = False
                        prices.charge[small] = 0.0
                        break
                    choices[number] = choice
        self._offer_choices(choices)
        self._respond()
        self.told(self, "first orders")

    def _too_small(self, choices: Sequence[Choice], prices: Prices) -> int | None:
        """Return the delivery that is furthest from being worth its while."""
        goods = np.zeros(len(self.problem.trucks))
        for number, choice in enumerate(choices):
            column = self._column(number, choice)
            goods[list(column.trucks)] += column.goods
        lacks = [
            (goods[truck] / terms.minimum, truck)
            for truck, terms in enumerate(self.problem.terms)
            if 0 < goods[truck] < terms.minimum and prices.charge[truck]
        ]
        return min(lacks)[1] if lacks else None

    def _offer_choices(self, choices: Sequence[Choice]) -> bool:
        """Keep a choice and its columns."""
        self.master.add(
            [self._column(number, choice) for number, choice in enumerate(choices)]
        )
        if self.offer(self.selector.of_choices(choices)):
            self._choices = dict(enumerate(choices))
            return True
        return False

    def _column(self, number: int, choice: Choice) -> Column:
        pricer = self.pricers[number]
        return column_of(number, pricer.task, choice, pricer.net_cost(choice))

    def _respond(self) -> bool:
        """Let every item buy best on the deliveries of the best choice alone."""
        if not self._choices:
            return False
        prices = Prices.plain(len(self.problem.trucks))
        prices.is_closed[:] = [terms.is_shared for terms in self.problem.terms]
        for number, choice in self._choices.items():
            used = column_of(number, self.pricers[number].task, choice, 0.0).trucks
            prices.is_closed[list(used)] = False
        choices = []
        for number, pricer in enumerate(self.pricers):
            choices.append(pricer.cheapest(prices).choice or self._choices[number])
        return self._offer_choices(choices)

    def _generate(self) -> None:
        """Find schedules and prices, round by round, until prices say no more."""
        centre: Duals | None = None
        for number in range(self.effort.rounds):
            self.check()
            cost, duals, _, _ = self.master.solve()
            at = duals
            if centre is not None and self.effort.rounds - number > 1:
                at = duals.towards(centre, self.effort.steadiness)
            bound, added = self._price(at)
            if bound > self.bound:
                self.bound, centre = bound, at
            if not added and at is not duals:
                bound, added = self._price(duals)
                if bound > self.bound:
                    self.bound, centre = bound, duals
            self.told(self, "pricing")
            if self.is_proven or not added:
                return
            if cost - self.bound <= self.effort.close_enough * abs(cost):
                return

    def _price(self, duals: Duals) -> tuple[float, int]:
        """Price every item; return the bound and how many columns are new."""
        problem = self.problem
        bound = trucks_bound(problem.terms, duals)
        if problem.has_part_cents:
            bound -= PART_CENT * sum(len(task.offers) for task in problem.tasks)
        is_open = np.zeros(len(problem.trucks), dtype=np.bool_)
        added = 0
        for number, pricer in enumerate(self.pricers):
            prices = Prices(duals.charge[number], 1 - duals.value, is_open)
            found = pricer.cheapest(prices)
            bound += found.bound
            if found.choice is not None:
                added += self.master.add([self._column(number, found.choice)])
        return bound, added

    def _choose(self) -> None:
        """Choose whole schedules, let items respond, and choose again."""
        for _ in range(self.effort.choices):
            self.check()
            if self.is_proven:
                return
            chosen = best_choice(
                self.master.rows,
                self._promising(),
                Limits(self.effort.nodes, max(0.1, self._ends_at - self.clock())),
                self._choices or None,
            )
            if chosen is None:
                return
            is_better = self._offer_choices(
                [chosen[number] for number in range(len(self.pricers))]
            )
            is_better |= self._respond()
            self.told(self, "choosing")
            if not is_better:
                return

    def _promising(self) -> list[Column]:
        """Return the columns that the final choice is made among."""
        _, duals, sigma, _ = self.master.solve()
        by_task: dict[int, list[tuple[float, int]]] = {}
        for place, column in enumerate(self.master.columns):
            reduced = _reduced_cost(column, duals, sigma)
            by_task.setdefault(column.task, []).append((reduced, place))
        kept = {
            place
            for columns in by_task.values()
            for _, place in sorted(columns)[: self.effort.columns]
        }
        return [
            column
            for place, column in enumerate(self.master.columns)
            if place in kept or self._choices.get(column.task) == column.choice
        ]


def _reduced_cost(column: Column, duals: Duals, sigma: FloatColumn) -> float:
    cost = column.net_cost - float(sigma[column.task])
    for truck, goods in zip(column.trucks, column.goods, strict=True):
        cost += float(duals.charge[column.task, truck] - duals.value[truck] * goods)
    return cost


def _rank(selection: Selection) -> tuple[bool, bool, float]:
    return not selection.can_go, not selection.is_enough, selection.cost


def _most(pricer: ItemPricer) -> Choice:
    return tuple(int(np.argmax(offer.amount_base)) for offer in pricer.task.offers)


def _guessed_prices(problem: Problem) -> Prices:
    """Return prices at which a delivery's fee is shared by half of its items."""
    prices = Prices.plain(len(problem.trucks))
    items = np.zeros(len(problem.trucks))
    for task in problem.tasks:
        for offer in task.offers:
            items[offer.delivery] += 1
    for truck, terms in enumerate(problem.terms):
        shared = terms.fee / max(1.0, items[truck] / 4)
        prices.charge[truck] = max(shared, 1e-6)
    return prices
