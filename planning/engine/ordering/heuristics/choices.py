"""Whole choices among the schedules that were found: by chance, and exactly.

Only an item's most promising schedules are looked at: those of least reduced cost.

The best whole choice among known schedules: one an item, deliveries open or not.

The master problem over some of its columns, all of them whole: an integer programme.
"""

from collections.abc import Callable, Sequence

import numpy as np

from planning.engine.kitchen import FloatColumn
from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.column_generation.master import (
    MasterColumn,
    Rows,
    Solved,
    State,
    States,
    is_decided_open,
    is_out,
    truck_modes,
)
from planning.engine.ordering.column_generation.solver import (
    INFINITY,
    Columns,
    Factors,
    Limits,
    LinearProgramme,
    programme_of,
    quiet_solver,
    set_limits,
)
from planning.engine.ordering.heuristics.annealing import COOLINGS, changed_by_chance
from planning.engine.ordering.pricing.tasks import Choice


def best_choice(
    rows: Rows,
    columns: Sequence[MasterColumn],
    limits: Limits,
    states: States,
    should_stop: Callable[[], bool],
) -> dict[int, Choice] | None:
    """Return the best choice found, by task, or None.

    What has been decided about deliveries is kept to.

    The solver is not told of a choice that is known: with one, and its presolve, it
    has called worse choices the best.
    """
    model = _Model(rows, states)
    closed = {truck for truck, state in states.items() if state == State.CLOSED}
    columns = [column for column in columns if closed.isdisjoint(column.trucks)]
    for column in columns:
        model.add(column.net_cost, 1.0, *rows.column_entries(column))
    solver = quiet_solver()
    solver.passModel(model.lp())
    solver.setOptionValue("mip_rel_gap", 1e-5)
    set_limits(solver, limits, should_stop)
    solver.run()
    taken = np.array(solver.getSolution().col_value)
    if len(taken) < model.trucks + len(columns) or not solver.getSolution().value_valid:
        return None
    is_taken = taken[model.trucks : model.trucks + len(columns)] > 0.5
    found = {
        column.task: column.choice
        for column, is_in in zip(columns, is_taken.tolist(), strict=True)
        if is_in
    }
    return found if len(found) == rows.tasks else None


class _Model:
    """The integer programme, column by column."""

    def __init__(self, rows: Rows, states: States) -> None:
        self._rows, self._states = rows, states
        self._cost: list[float] = []
        self._upper: list[float] = []
        self._starts: list[int] = [0]
        self._index: list[np.ndarray[tuple[int], np.dtype[np.int64]]] = []
        self._value: list[FloatColumn] = []
        self._is_whole: list[bool] = []
        for truck in rows.shared:
            state = states.get(truck)
            for mode, (fee, goods) in enumerate(truck_modes(rows.terms[truck])):
                upper = 0.0 if is_out(state, mode) else 1.0
                self.add(fee, upper, *rows.truck_entries(truck, goods))
            filler = np.array([rows.value[truck]])
            self.add(1.0, INFINITY, filler, np.ones(1), is_whole=False)
        self.trucks = len(self._cost)

    def add(
        self,
        cost: float,
        upper: float,
        index: np.ndarray[tuple[int], np.dtype[np.int64]],
        value: FloatColumn,
        *,
        is_whole: bool = True,
    ) -> None:
        """Add a column."""
        self._cost.append(cost)
        self._upper.append(upper)
        self._index.append(index)
        self._value.append(value)
        self._starts.append(self._starts[-1] + len(index))
        self._is_whole.append(is_whole)

    def lp(self) -> LinearProgramme:
        """Return the programme."""
        lower, upper = self._rows.bounds()
        for truck, row in self._rows.once.items():
            if is_decided_open(self._states.get(truck)):
                lower[row] = 1.0
        nothing = [0.0] * len(self._cost)
        return programme_of(
            Columns(self._cost, nothing, self._upper, self._is_whole),
            lower,
            upper,
            Factors(
                self._starts,
                np.concatenate(self._index),
                np.concatenate(self._value),
                is_by_row=False,
            ),
        )


CHOICE_SHARE = 0.05  # of the time, at most, for one exact choice
LEAST_SECONDS = 0.1


def choose_by_chance(search: BestSoFar, states: States, solved: Solved) -> bool:
    """Change a choice again and again; return whether it is better than the best."""
    columns = _promising(search, states, solved)
    if len({column.task for column in columns}) < len(search.pricers):
        return False
    changes = search.effort.changes_an_item * len(search.pricers)
    is_better = False
    for cooling in COOLINGS:
        search.check()
        choices = changed_by_chance(
            search.problem.terms, columns, search.choices, changes, cooling
        )
        if search.offer_choices(choices):
            is_better = True
            search.respond()
    return is_better


def choose_exactly(search: BestSoFar, states: States, solved: Solved) -> bool:
    """Choose by an integer programme; return whether it is better than the best."""
    columns = _promising(search, states, solved)
    if len(columns) > search.effort.most_columns:
        return False
    search.check()
    seconds = min(CHOICE_SHARE * search.effort.seconds, search.seconds_left)
    limits = Limits(search.effort.nodes, max(LEAST_SECONDS, seconds))
    rows = search.master.rows
    chosen = best_choice(rows, columns, limits, states, search.should_stop)
    if chosen is None:
        return False
    is_better = search.offer_choices(
        [chosen[number] for number in range(len(search.pricers))]
    )
    return search.respond() or is_better


def _promising(search: BestSoFar, states: States, solved: Solved) -> list[MasterColumn]:
    """Return the cheapest columns of every task at the prices of an answer."""
    closed = {truck for truck, state in states.items() if state == State.CLOSED}
    by_task: dict[int, list[tuple[float, int]]] = {}
    for place, column in enumerate(search.master.columns):
        if closed.isdisjoint(column.trucks):
            reduced = _reduced_cost(column, solved)
            by_task.setdefault(column.task, []).append((reduced, place))
    kept = {
        place
        for columns in by_task.values()
        for _, place in sorted(columns)[: search.effort.columns]
    }
    return [
        column
        for place, column in enumerate(search.master.columns)
        if place in kept
        or (
            search.choices.get(column.task) == column.choice
            and closed.isdisjoint(column.trucks)
        )
    ]


def _reduced_cost(column: MasterColumn, solved: Solved) -> float:
    duals = solved.duals
    cost = column.net_cost - float(solved.task_dual[column.task])
    for truck, goods in zip(column.trucks, column.goods, strict=True):
        cost += float(duals.charge[column.task, truck] - duals.value[truck] * goods)
    return cost
