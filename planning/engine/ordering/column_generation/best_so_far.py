"""The best selection and the best bound that a search has come to so far.

In the words of branch and bound: the incumbent and the global lower bound, with the
columns that all parts of the search share.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from planning.engine.kitchen import BoolColumn
from planning.engine.ordering.column_generation.efforts import Effort
from planning.engine.ordering.column_generation.master import (
    Master,
    MasterColumn,
    column_of,
)
from planning.engine.ordering.instance.problems import Problem
from planning.engine.ordering.instance.selections import Selection, Selector
from planning.engine.ordering.kernels.columns import Prices
from planning.engine.ordering.pricing.items import ItemPricer
from planning.engine.ordering.pricing.tasks import Choice

PROVEN_GAP = 1e-4  # of what is paid; closer than that counts as the best
LEAST_GAIN = 1e-6  # in money; what is better by less is not better
SEARCH_SHARE = 0.95  # of the time; the rest is for the last touch and the reasons


class Stopped(Exception):  # noqa: N818 (it is no error)
    """Somebody asked to stop, or the time is over."""


@dataclass
class BestSoFar:
    """Keeps the best selection and the best bound of one problem."""

    problem: Problem
    effort: Effort
    clock: Callable[[], float]
    told: Callable[["BestSoFar", str], None]
    should_stop: Callable[[], bool]
    best: Selection | None = None
    bound: float = -np.inf
    choices: dict[int, Choice] = field(default_factory=dict)  # of the best, by task

    def __post_init__(self) -> None:
        """Make what is needed to price items and to choose among schedules."""
        self.start_clock()
        self.pricers = [ItemPricer(task) for task in self.problem.tasks]
        self.selector = Selector(self.problem)
        self.master = Master(self.problem)

    def start_clock(self) -> None:
        """Let the time of the effort begin now."""
        self.ends_at = self.clock() + SEARCH_SHARE * self.effort.seconds

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

    @property
    def seconds_left(self) -> float:
        """How long the search may still go on."""
        return self.ends_at - self.clock()

    def check(self) -> None:
        """Stop if that is asked for or the time is over, and there is something."""
        if self.best is not None and (self.should_stop() or self.seconds_left <= 0):
            raise Stopped

    def raise_bound(self, bound: float) -> None:
        """Keep a bound, as far as something could be better than the best."""
        if self.best is not None and self.best.will_do:
            bound = min(bound, self.best.cost)
        self.bound = max(self.bound, bound)

    def is_settled(self, bound: float) -> bool:
        """Whether nothing better can come where this is the bound."""
        best = self.best
        if best is None or not best.will_do:
            return False
        return bound >= best.cost - PROVEN_GAP * best.paid

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

    def column(self, number: int, choice: Choice) -> MasterColumn:
        """Return a task's choice as a column."""
        pricer = self.pricers[number]
        return column_of(number, pricer.task, choice, pricer.net_cost(choice))

    def offer_choices(self, choices: Sequence[Choice]) -> bool:
        """Keep a choice for every task if it is better, and its columns always."""
        self.master.add(
            [self.column(number, choice) for number, choice in enumerate(choices)]
        )
        if self.offer(self.selector.of_choices(choices)):
            self.choices = dict(enumerate(choices))
            return True
        return False

    def respond(self, is_open: BoolColumn | None = None) -> bool:
        """Let every item buy best on some deliveries alone; return if that is better.

        Left out, they are those of the best choice. They cost no item
        anything: it is taken for settled that they come.
        """
        if is_open is None and not self.choices:
            return False
        prices = Prices.plain(len(self.problem.trucks))
        if is_open is None:
            is_open = np.array(
                [not terms.is_shared for terms in self.problem.terms], dtype=np.bool_
            )
            for number, choice in self.choices.items():
                is_open[list(self.column(number, choice).trucks)] = True
        prices.is_closed[:] = ~is_open
        choices = []
        for pricer in self.pricers:
            self.check()
            found = pricer.cheapest(prices)
            if found.choice is None:
                return False
            choices.append(found.choice)
        return self.offer_choices(choices)


def _rank(selection: Selection) -> tuple[bool, bool, float]:
    return not selection.can_go, not selection.is_enough, selection.cost
