"""The search for the best orders: always something to show, better as it goes.

Branch and price. A bound comes from prices of the deliveries at which every item by
itself can do no better (column generation); whole choices come from the schedules that
were found at such prices (diving, integer programmes, annealing). Where bound and best
orders still differ, the question is split by what deliveries do (branch and bound).
"""

import heapq

from planning.engine.ordering.column_generation.best_so_far import BestSoFar, Stopped
from planning.engine.ordering.column_generation.branching import (
    BranchNode,
    agreed,
    decisions,
    nearly_decided,
    open_in,
)
from planning.engine.ordering.column_generation.master import Duals
from planning.engine.ordering.column_generation.pricing_rounds import generate, price
from planning.engine.ordering.compact_model.whole_programme import best_whole
from planning.engine.ordering.heuristics.annealing import call_annealing
from planning.engine.ordering.heuristics.choices import choose_by_chance, choose_exactly
from planning.engine.ordering.heuristics.first_orders import find_first_orders
from planning.engine.ordering.kernels.place import note_complete
from planning.engine.ordering.pricing.first_calls import call_pricing

FEW_ITEMS = 100
FIRST_DIVE = 8  # parts before the next dive; then three times as many, and so on


def call_kernels() -> None:
    """Make all machine code that is not kept yet; it takes seconds then."""
    call_pricing()
    call_annealing()
    note_complete()


class Search(BestSoFar):
    """Looks for the best orders of one problem."""

    def run(self) -> None:
        """Look until the proof is there, the effort is spent, or somebody stops it."""
        if not self.problem.tasks:
            self.bound = 0.0
            return
        try:
            self._look()
        except Stopped:
            return

    def _look(self) -> None:
        call_kernels()
        self.start_clock()  # the first time, machine code had to be made
        price(self, Duals.nothing(self.problem), {})
        find_first_orders(self)
        self.told(self, "first orders")
        self.check()
        _, centre, solved = generate(self, {}, None, self.effort.rounds, self.bound)
        self._dive(BranchNode({}, centre, solved))
        self._choose()
        self._branch(BranchNode({}, centre, solved))
        self._choose()
        self._state_whole()

    def _dive(self, part: BranchNode) -> None:
        """Decide about deliveries as an answer suggests, and choose what fits best.

        A diving heuristic: after each step schedules are priced anew.
        """
        if self.is_proven:
            return
        states, centre, solved = dict(part.states), part.centre, part.solved
        while decided := nearly_decided(solved, states):
            states.update(decided)
            rounds = self.effort.dive_rounds
            _, centre, solved = generate(self, states, centre, rounds, float("-inf"))
            if solved.is_artificial or self.is_settled(solved.cost):
                return
        choose_exactly(self, states, solved)
        choose_by_chance(self, states, solved)
        self.told(self, "diving")

    def _choose(self) -> None:
        """Choose again where the best choice and the prices do not agree.

        What they agree about is fixed: relaxation induced neighbourhood search.
        """
        for _ in range(self.effort.choices):
            if self.is_proven or self.best is None:
                return
            self.master.decide({})
            solved = self.master.solve()
            is_better = choose_by_chance(self, {}, solved)
            states = agreed(self.problem.terms, solved, self.best.goods)
            is_better |= choose_exactly(self, states, solved)
            self.told(self, "choosing")
            if not is_better:
                return

    def _branch(self, root: BranchNode) -> None:
        """Split the question by what deliveries do, the weakest part first.

        Best-first branch and bound. Now and then a dive starts from the weakest part.
        """
        parts = [(self.bound, 0, root)]
        dive_at = FIRST_DIVE
        for number in range(1, self.effort.parts + 1):
            bound, _, part = heapq.heappop(parts)
            self.raise_bound(bound)
            self.told(self, "proving")
            ways = decisions(part)
            if self.is_proven or not ways:
                return
            for side, decision in enumerate(ways):
                states = {**part.states, **decision}
                rounds = self.effort.part_rounds
                least, mine, answer = generate(self, states, part.centre, rounds, bound)
                inner = BranchNode(states, mine, answer)
                heapq.heappush(parts, (max(least, bound), 2 * number + side, inner))
            first = parts[0][2]
            self.respond(open_in(self.problem, first.solved))
            if number == dive_at:
                self._dive(first)
                dive_at *= 3
        self.raise_bound(parts[0][0])

    def _state_whole(self) -> None:
        """State the whole question as one programme, if it is small enough."""
        if self.is_proven or self.best is None or not self.best.will_do:
            return
        if len(self.problem.tasks) > FEW_ITEMS:
            return
        self.told(self, "whole")
        whole = best_whole(
            self.problem,
            seconds=max(0.0, self.seconds_left),
            nodes=self.effort.nodes,
            cutoff=self.best.cost,
            should_stop=self.should_stop,
        )
        if whole.counts is not None:
            self.offer(self.selector.of_counts(whole.counts))
        self.raise_bound(whole.bound)
