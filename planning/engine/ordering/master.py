"""The choice among known schedules, as a linear programme, and its prices.

A column is one item's schedule. Rows: one schedule an item; a schedule may use a
delivery only if it is open, item by item, which makes the bound strong; and goods
enough for the minimum order, or for free delivery. Goods beyond any use can fill a
delivery up at their price: that can only make the programme too easy, never too hard.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import highspy
import numpy as np

from planning.engine.kitchen import FloatColumn, IntColumn
from planning.engine.ordering.problems import Problem, TruckTerms
from planning.engine.ordering.tasks import Choice, Task

INFINITY = highspy.kHighsInf


@dataclass(frozen=True, slots=True)
class Column:
    """One item's schedule."""

    task: int
    choice: Choice
    net_cost: float
    trucks: tuple[int, ...]  # those that it uses
    goods: tuple[float, ...]  # on each of them


def column_of(number: int, task: Task, choice: Choice, net_cost: float) -> Column:
    """Return a choice as a column."""
    used = [
        (offer.delivery, float(offer.cost[option]))
        for offer, option in zip(task.offers, choice, strict=True)
        if offer.is_used[option]
    ]
    return Column(
        number,
        choice,
        net_cost,
        tuple(truck for truck, _ in used),
        tuple(cost for _, cost in used),
    )


@dataclass(frozen=True, slots=True)
class Duals:
    """Prices of the rows."""

    charge: FloatColumn  # task x truck, for using it
    value: FloatColumn  # by truck: what a unit of money of goods there is good for

    @classmethod
    def nothing(cls, problem: Problem) -> "Duals":
        """Return prices at which all deliveries are free."""
        trucks = len(problem.trucks)
        return cls(np.zeros((len(problem.tasks), trucks)), np.zeros(trucks))

    def towards(self, other: "Duals", fraction: float) -> "Duals":
        """Return prices on the way to others."""
        return Duals(
            (1 - fraction) * self.charge + fraction * other.charge,
            (1 - fraction) * self.value + fraction * other.value,
        )


class Rows:
    """Which rows there are, and in which order."""

    def __init__(self, problem: Problem) -> None:
        self.terms = problem.terms
        self.tasks = len(problem.tasks)
        self.shared = [n for n, terms in enumerate(problem.terms) if terms.is_shared]
        self.link: dict[tuple[int, int], int] = {}
        for number, task in enumerate(problem.tasks):
            for offer in task.offers:
                if problem.terms[offer.delivery].is_shared:
                    cell = (number, offer.delivery)
                    self.link.setdefault(cell, self.tasks + len(self.link))
        first = self.tasks + len(self.link)
        self.value = {truck: first + n for n, truck in enumerate(self.shared)}
        first += len(self.value)
        self.once = {truck: first + n for n, truck in enumerate(self.shared)}
        self.count = first + len(self.once)

    def bounds(self) -> tuple[FloatColumn, FloatColumn]:
        """Return the lower and upper bounds of all rows."""
        lower, upper = np.zeros(self.count), np.full(self.count, INFINITY)
        lower[: self.tasks] = upper[: self.tasks] = 1.0
        for row in self.link.values():
            lower[row], upper[row] = -INFINITY, 0.0
        for row in self.once.values():
            lower[row], upper[row] = -INFINITY, 1.0
        return lower, upper

    def truck_entries(self, truck: int, goods: float) -> tuple[IntColumn, FloatColumn]:
        """Return the entries of a delivery that is open and asks for some goods."""
        links = [row for (_, of), row in self.link.items() if of == truck]
        rows = [*links, self.value[truck], self.once[truck]]
        return np.array(rows), np.array([-1.0] * len(links) + [-goods, 1.0])

    def column_entries(self, column: Column) -> tuple[IntColumn, FloatColumn]:
        """Return the entries of a schedule."""
        rows, values = [column.task], [1.0]
        for truck, goods in zip(column.trucks, column.goods, strict=True):
            if self.terms[truck].is_shared:
                rows += [self.link[column.task, truck], self.value[truck]]
                values += [1.0, goods]
        return np.array(rows), np.array(values)


def quiet_solver() -> highspy.Highs:
    """Return a solver that prints nothing and always does the same."""
    solver = highspy.Highs()  # type: ignore[no-untyped-call]
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("random_seed", 0)
    solver.setOptionValue("threads", 1)
    return solver


def truck_modes(terms: TruckTerms) -> list[tuple[float, float]]:
    """Return the ways in which a delivery can come: its fee, the goods it asks for."""
    modes = [(terms.fee, terms.minimum)]
    if terms.free_goods is not None:
        modes.append((0.0, terms.free_goods))
    return modes


class Master:
    """The linear programme over the columns known so far."""

    def __init__(self, problem: Problem) -> None:
        self.rows = Rows(problem)
        self.columns: list[Column] = []
        self._known: set[tuple[int, Choice]] = set()
        self._solver = quiet_solver()
        lower, upper = self.rows.bounds()
        nothing = np.zeros(0, dtype=np.int32)
        for low, high in zip(lower.tolist(), upper.tolist(), strict=True):
            self._solver.addRow(low, high, 0, nothing, np.zeros(0))
        self.fixed_columns = 0
        for truck in self.rows.shared:
            for fee, goods in truck_modes(self.rows.terms[truck]):
                self._add(fee, 1.0, *self.rows.truck_entries(truck, goods))
            self._add(
                1.0, INFINITY, np.array([self.rows.value[truck]]), np.array([1.0])
            )

    def _add(
        self, cost: float, upper: float, rows: IntColumn, values: FloatColumn
    ) -> None:
        self._solver.addCol(
            cost, 0.0, upper, len(rows), rows.astype(np.int32), values.astype(float)
        )
        self.fixed_columns += 1

    def add(self, columns: Sequence[Column]) -> int:
        """Add the columns that are new; return how many they are."""
        added = 0
        for column in columns:
            key = (column.task, column.choice)
            if key in self._known:
                continue
            self._known.add(key)
            self.columns.append(column)
            rows, values = self.rows.column_entries(column)
            self._solver.addCol(
                column.net_cost,
                0.0,
                INFINITY,
                len(rows),
                rows.astype(np.int32),
                values,
            )
            added += 1
        return added

    def solve(self) -> tuple[float, Duals, FloatColumn, FloatColumn]:
        """Return the least cost, its prices, how far each task's price goes, and
        how much of each column is taken.
        """
        self._solver.run()
        solution = self._solver.getSolution()
        row_dual = np.array(solution.row_dual)
        taken = np.array(solution.col_value)[self.fixed_columns :]
        charge = np.zeros((self.rows.tasks, len(self.rows.terms)))
        for (task, truck), row in self.rows.link.items():
            charge[task, truck] = max(0.0, -row_dual[row])
        value = np.zeros(len(self.rows.terms))
        for truck, row in self.rows.value.items():
            value[truck] = min(1.0, max(0.0, row_dual[row]))
        cost = float(self._solver.getInfo().objective_function_value)
        return cost, Duals(charge, value), row_dual[: self.rows.tasks], taken


def trucks_bound(terms: Sequence[TruckTerms], duals: Duals) -> float:
    """Return the least that the deliveries add to the items' own least costs."""
    paid = duals.charge.sum(axis=0)
    return sum(
        min(
            0.0,
            *(
                fee + goods * float(duals.value[truck]) - float(paid[truck])
                for fee, goods in truck_modes(of_truck)
            ),
        )
        for truck, of_truck in enumerate(terms)
        if of_truck.is_shared
    )
