"""Whole choices among the schedules that were found: by chance, and exactly.

Only an item's most promising schedules are looked at: those of least reduced cost.
"""

from planning.engine.ordering.column_generation.best_so_far import BestSoFar
from planning.engine.ordering.column_generation.master import (
    MasterColumn,
    Solved,
    State,
    States,
)
from planning.engine.ordering.column_generation.solver import Limits
from planning.engine.ordering.heuristics.annealing import COOLINGS, changed_by_chance
from planning.engine.ordering.heuristics.exact import best_choice

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
