"""The search for the best orders: always something to show, better as it goes.

A bound comes from prices of the deliveries at which every item by itself can do no
better; whole choices come from the schedules that were found at such prices.
"""

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from planning.engine.kitchen import BoolColumn, FloatColumn
from planning.engine.ordering.annealing import COOLINGS, changed_by_chance
from planning.engine.ordering.choosing import Limits, best_choice
from planning.engine.ordering.efforts import Effort
from planning.engine.ordering.master import (
    Column,
    Duals,
    Master,
    Solved,
    State,
    States,
    column_of,
    trucks_bound,
)
from planning.engine.ordering.parts import (
    Part,
    agreed,
    decisions,
    nearly_decided,
    open_in,
)
from planning.engine.ordering.pricing import ItemPricer, Prices
from planning.engine.ordering.problems import Problem
from planning.engine.ordering.selections import Selection, Selector
from planning.engine.ordering.tasks import Choice

PROVEN_GAP = 1e-4
PART_CENT = 0.01
LEAST_GAIN = 1e-6
FIRST_ROUNDS = 16  # whose bounds say little yet
PATIENCE = 5
STALLED = 1e-4  # of the cost
CHOICE_SHARE = 0.05  # of the time, at most, for one choice
ROOT_SHARE = 0.6  # of the time, at most, before whole choices are made


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
            self.check()
            bound, centre, solved = self._generate(
                {}, None, self.effort.rounds, self.bound
            )
            self.bound = max(self.bound, bound)
            self._dive({}, centre, solved)
            self._choose()
            self._branch(centre, solved)
            self._choose()
        except Stopped:
            return

    def _first(self) -> None:
        """Find a first choice of our own: every item as if fees were shared.

        Deliveries that come out too small are closed one after the other.
        """
        self.bound, _ = self._price(Duals.nothing(self.problem), {})
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

    def _respond(self, is_open: BoolColumn | None = None) -> bool:
        """Let every item buy best on some deliveries alone.

        Left out, they are those of the best choice.
        """
        if is_open is None and not self._choices:
            return False
        prices = Prices.plain(len(self.problem.trucks))
        if is_open is None:
            is_open = np.array(
                [not terms.is_shared for terms in self.problem.terms], dtype=np.bool_
            )
            for number, choice in self._choices.items():
                is_open[list(self._column(number, choice).trucks)] = True
        prices.is_closed[:] = ~is_open
        choices = []
        for pricer in self.pricers:
            found = pricer.cheapest(prices)
            if found.choice is None:
                return False
            choices.append(found.choice)
        return self._offer_choices(choices)

    def _generate(
        self, states: States, centre: Duals | None, rounds: int, floor: float
    ) -> tuple[float, Duals, Solved]:
        """Find schedules and prices, round by round, until prices say no more.

        `floor` is a bound that is known already. Returns the best bound, its prices
        and the last answer of the master.
        """
        self.master.decide(states)
        best = -np.inf
        solved = self.master.solve()
        history = [best]
        for number in range(rounds):
            self.check()
            if self._is_stalling(history, solved.cost):
                break
            at = solved.duals
            if centre is not None and rounds - number > 1:
                at = at.towards(centre, self.effort.steadiness)
            bound, added = self._price(at, states, max(best, floor))
            if bound > best or centre is None:
                best, centre = max(best, bound), at
            if not added and at is not solved.duals:
                bound, added = self._price(solved.duals, states, max(best, floor))
                if bound > best:
                    best, centre = bound, solved.duals
            if not states:
                self.bound = max(self.bound, best)
            history.append(best)
            self.told(self, "pricing")
            if not added or self._is_settled(best):
                break
            solved = self.master.solve()
            if solved.cost - best <= self.effort.close_enough * abs(solved.cost):
                break
        return best, centre or solved.duals, solved

    def _is_stalling(self, history: Sequence[float], cost: float) -> bool:
        """Whether rounds bring too little, or the time is better spent on choosing."""
        if self.clock() > self._ends_at - (1 - ROOT_SHARE) * self.effort.seconds:
            return len(history) > 1
        if len(history) <= FIRST_ROUNDS:
            return False
        return history[-1] - history[-PATIENCE] < STALLED * abs(cost)

    def _is_settled(self, bound: float) -> bool:
        """Whether nothing better can come where this is the bound."""
        best = self.best
        if best is None or not best.will_do:
            return False
        return bound >= best.cost - PROVEN_GAP * best.paid

    def _price(
        self, duals: Duals, states: States, to_beat: float = np.inf
    ) -> tuple[float, int]:
        """Price every item; return the bound and how many columns are new.

        Items whose price is not certain get a longer look where that can raise the
        bound above the one to beat.
        """
        problem = self.problem
        bound = trucks_bound(problem.terms, duals, states)
        if problem.has_part_cents:
            bound -= PART_CENT * sum(len(task.offers) for task in problem.tasks)
        is_closed = np.zeros(len(problem.trucks), dtype=np.bool_)
        is_closed[[n for n, state in states.items() if state == State.CLOSED]] = True
        prices = [Prices(charge, 1 - duals.value, is_closed) for charge in duals.charge]
        found = [
            pricer.cheapest(mine)
            for pricer, mine in zip(self.pricers, prices, strict=True)
        ]
        if bound + sum(mine.value for mine in found) > to_beat:
            found = [
                pricer.closer(first, mine)
                for pricer, first, mine in zip(self.pricers, found, prices, strict=True)
            ]
        added = self.master.add(
            [
                self._column(number, mine.choice)
                for number, mine in enumerate(found)
                if mine.choice is not None
            ]
        )
        return bound + sum(mine.bound for mine in found), added

    def _branch(self, centre: Duals, solved: Solved) -> None:
        """Split the question by what deliveries do, the weakest part first."""
        parts = [(self.bound, 0, Part({}, centre, solved))]
        for number in range(1, self.effort.parts + 1):
            bound, _, part = heapq.heappop(parts)
            self._raise_bound(bound)
            self.told(self, "proving")
            ways = decisions(part)
            if self.is_proven or not ways:
                return
            for side, decision in enumerate(ways):
                states = {**part.states, **decision}
                try:
                    least, mine, answer = self._generate(
                        states, part.centre, self.effort.part_rounds, bound
                    )
                except Stopped:
                    heapq.heappush(parts, (bound, 0, part))
                    raise
                least = max(least, bound)
                inner = Part(states, mine, answer)
                heapq.heappush(parts, (least, 2 * number + side, inner))
            self._respond(open_in(self.problem, parts[0][2].solved))
        self._raise_bound(parts[0][0])

    def _raise_bound(self, bound: float) -> None:
        """Keep the bound of all parts, as far as they could be better."""
        if self.best is not None and self.best.will_do:
            bound = min(bound, self.best.cost)
        self.bound = max(self.bound, bound)

    def _dive(self, states: States, centre: Duals, solved: Solved) -> bool:
        """Decide about deliveries as an answer suggests, and choose what fits best.

        Returns whether that is better than all before.
        """
        states = dict(states)
        for _ in range(len(self.problem.trucks)):
            decided = nearly_decided(solved, states)
            if not decided:
                break
            states.update(decided)
            _, centre, solved = self._generate(
                states, centre, self.effort.dive_rounds, -np.inf
            )
            if solved.is_makeshift:
                return False
        is_better = self._exact_choice(states, solved)
        is_better |= self._choice(states, solved)
        self.told(self, "diving")
        return is_better

    def _choice(self, states: States, solved: Solved) -> bool:
        """Choose whole schedules when something is decided about deliveries.

        Returns whether that is better than all before.
        """
        columns = self._promising(solved, states)
        if len({column.task for column in columns}) < len(self.pricers):
            return False
        changes = self.effort.changes_an_item * len(self.pricers)
        is_better = False
        for cooling in COOLINGS:
            self.check()
            choices = changed_by_chance(
                self.problem.terms, columns, self._choices, changes, cooling
            )
            if self._offer_choices(choices):
                is_better = True
                self._respond()
        return is_better

    def _exact_choice(self, states: States, solved: Solved) -> bool:
        """Choose by an integer programme; return whether that is any better."""
        columns = self._promising(solved, states)
        if len(columns) > self.effort.most_columns:
            return False
        self.check()
        seconds = CHOICE_SHARE * self.effort.seconds
        seconds = min(seconds, self._ends_at - self.clock())
        limits = Limits(self.effort.nodes, max(0.1, seconds))
        chosen = best_choice(self.master.rows, columns, limits, states)
        if chosen is None:
            return False
        is_better = self._offer_choices(
            [chosen[number] for number in range(len(self.pricers))]
        )
        return self._respond() or is_better

    def _choose(self) -> None:
        """Choose again where the best choice and the prices do not agree."""
        for _ in range(self.effort.choices):
            if self.is_proven or self.best is None:
                return
            self.master.decide({})
            solved = self.master.solve()
            is_better = self._choice({}, solved)
            self.told(self, "choosing")
            states = agreed(self.problem.terms, solved, self.best.goods)
            is_better |= self._exact_choice(states, solved)
            self.told(self, "choosing")
            if not is_better:
                return

    def _promising(self, solved: Solved, states: States) -> list[Column]:
        """Return the columns that the final choice is made among."""
        closed = {truck for truck, state in states.items() if state == State.CLOSED}
        by_task: dict[int, list[tuple[float, int]]] = {}
        for place, column in enumerate(self.master.columns):
            if closed.isdisjoint(column.trucks):
                reduced = _reduced_cost(column, solved.duals, solved.task_dual)
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
